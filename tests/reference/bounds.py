"""How far a signal may be off."""

import numpy as np


def mark(kept):
    """What stands behind a figure that does not keep its bound."""
    return "" if kept else "  TOO FAR"


def within(name, theirs, ours, most, sample_s):
    """Prints the worst difference as a share of the signal's range; whether it keeps its bound."""
    theirs, ours = np.asarray(theirs), np.asarray(ours)
    span = np.ptp(ours)
    apart = np.abs(theirs - ours) / span
    worst = int(np.argmax(apart))
    kept = bool(apart[worst] <= most)
    print(f"  {name:12} range {span:10.4g}  worst {100 * apart[worst]:8.2g} % of {100 * most:.2g} % at "
          f"{worst * sample_s:6.3f} s  root mean square {100 * np.sqrt(np.mean(apart ** 2)):8.2g} %{mark(kept)}",
          flush=True)
    return kept
