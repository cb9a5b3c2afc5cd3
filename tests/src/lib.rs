//! Nothing but tests; they are in `tests/`, their recordings in `data/`.
