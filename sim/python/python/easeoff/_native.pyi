"""Types of what `easeoff` exports; what each is and its units stand in the module's own docstrings."""

import os
from collections.abc import Iterable, Mapping, Sequence
from typing import Any, final

import numpy as np
from numpy.typing import NDArray

_Path = str | os.PathLike[str]
_One = bool | int | float | str | np.generic
_Setting = _One | Sequence["_Setting"]

__all__ = ["Mistake", "Refused", "Run", "RunFailed", "Scene", "Score", "Sweep", "demo", "load"]

class Refused(ValueError):
    mistakes: list[Mistake]

class RunFailed(RuntimeError): ...

@final
class Mistake:
    @property
    def file(self) -> str | None: ...
    @property
    def line(self) -> int | None: ...
    @property
    def what(self) -> str: ...
    @property
    def remedy(self) -> str | None: ...

@final
class Score:
    @property
    def name(self) -> str: ...
    @property
    def unit(self) -> str: ...
    @property
    def definition(self) -> str: ...
    @property
    def less_is_better(self) -> bool | None: ...
    @property
    def label(self) -> str: ...
    @property
    def value(self) -> Any: ...

@final
class Run:
    @property
    def name(self) -> str: ...
    @property
    def tick_s(self) -> float: ...
    @property
    def end(self) -> str: ...
    @property
    def never_moved(self) -> str | None: ...
    @property
    def columns(self) -> dict[str, NDArray[np.float64]]: ...
    @property
    def units(self) -> dict[str, str]: ...
    @property
    def scores(self) -> dict[str, Score]: ...
    @property
    def events(self) -> list[tuple[float, str]]: ...
    def __getitem__(self, name: str, /) -> NDArray[np.float64]: ...

@final
class Sweep:
    @property
    def axes(self) -> dict[str, NDArray[Any]]: ...
    @property
    def scores(self) -> dict[str, Score]: ...
    @property
    def failed(self) -> dict[tuple[int, ...], str]: ...
    def __getitem__(self, name: str, /) -> NDArray[np.float64]: ...

@final
class Scene:
    @property
    def name(self) -> str: ...
    @property
    def settings_sha256(self) -> str: ...
    def change(self, values: Mapping[str, _Setting]) -> Scene: ...
    def variants(self) -> dict[str, Scene]: ...
    def run(self, *, creep_slope_deg: float = ..., step_us: float = ...) -> Run: ...
    def sweep(
        self,
        vary: Mapping[str, str | Iterable[_One]],
        scores: Sequence[str],
        *,
        threads: int | None = None,
        creep_slope_deg: float = ...,
        step_us: float = ...,
    ) -> Sweep: ...
    def trials(self, *, creep_slope_deg: float = ..., step_us: float = ...) -> dict[str, Run]: ...

def demo(
    name: str = "garden",
    *,
    rig: _Path | None = None,
    tune: _Path | None = None,
    course: _Path | None = None,
    driver: _Path | None = None,
) -> Scene: ...
def load(
    folder: _Path,
    *,
    rig: _Path | None = None,
    tune: _Path | None = None,
    course: _Path | None = None,
    driver: _Path | None = None,
) -> Scene: ...
