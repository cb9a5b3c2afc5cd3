"""The way of a body on two axles over a profile, from docs/src/model.md alone."""

import numpy as np

# The worst difference of heights allowed: the simulator's grid rounds off what is sharp.
HEIGHT_M = {"usual": 30e-6, "rough": 80e-6}


def way(case, finer=8):
    """Places along the body's way and its heights there, from the profile alone.

    Circles are laid on a grid `finer` times as fine as the stated one; lengths are taken on the stated.
    """
    vehicle, wheel = case["rig"]["vehicle"], case["rig"]["wheels"]["radius_m"]
    ahead, behind = vehicle["wheelbase_m"] / 2, -vehicle["wheelbase_m"] / 2
    share = vehicle["cg_ahead_of_rear_m"] / vehicle["wheelbase_m"]
    grid = wheel / 48
    fine, reach = grid / finer, 48 * finer
    across, up = np.transpose(case["profile_m"])
    beyond = ahead + wheel + grid
    x = np.arange(across[0] - beyond, across[-1] + beyond, fine)
    # Beyond its ends the profile goes on with its last slope.
    grades = np.diff(up) / np.diff(across)
    ground = np.interp(x, across, up)
    ground += grades[0] * np.minimum(x - across[0], 0) + grades[-1] * np.maximum(x - across[-1], 0)
    centre = np.full(len(x) - 2 * reach, -np.inf)
    for offset in range(-reach, reach + 1):
        rise = max(wheel ** 2 - (offset * fine) ** 2, 0.0) ** 0.5
        np.maximum(centre, ground[reach + offset:reach + offset + len(centre)] + rise, out=centre)
    at = np.arange(across[0], across[-1] + grid, grid)
    under = x[reach:len(x) - reach]
    front, rear = (np.interp(at + axle, under, centre) for axle in (ahead, behind))
    body = share * front + (1 - share) * rear - wheel
    return across[0] + np.concatenate([[0], np.cumsum(np.hypot(grid, np.diff(body)))]), body


def compare(case):
    """Heights of the body's way against those given, which everything else here rolls on."""
    given = case["ground"]
    theirs = np.array(given["height_m"])
    at = given["from_m"] + given["step_m"] * np.arange(len(theirs))
    apart = np.abs(np.interp(at, *way(case)) - theirs)
    worst = int(np.argmax(apart))
    kept = bool(apart[worst] <= HEIGHT_M.get(case["name"], HEIGHT_M["usual"]))
    print(f"{case['name']}, ground: heights range {np.ptp(theirs):.4g} m, worst {1e6 * apart[worst]:.2f} "
          f"um at {at[worst]:.3f} m{'' if kept else '  TOO FAR'}")
    return kept
