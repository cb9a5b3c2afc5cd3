"""What the tests share: the program `easeoff`, named by EASEOFF, and its tables read back."""

import csv
import os
import subprocess
from pathlib import Path

import numpy as np
import pytest


@pytest.fixture
def program(tmp_path):
    """Runs the real program in a folder of its own and gives what it said, if it ends with that code."""

    def run(*words, code=0):
        command = [os.environ["EASEOFF"], *words]
        ended = subprocess.run(command, cwd=tmp_path, capture_output=True, text=True, check=False)
        assert ended.returncode == code, ended.stderr
        return ended.stderr if code else ended.stdout

    return run


@pytest.fixture
def table(tmp_path):
    """The columns of a CSV that the program wrote, as texts."""

    def read(name):
        with Path(tmp_path, name).open(newline="", encoding="utf-8") as file:
            head, *rows = csv.reader(file)
        return dict(zip(head, zip(*rows, strict=True), strict=True))

    return read


def numbers(cells):
    return np.array([float(cell or "nan") for cell in cells])


def same_bits(one, other):
    """Every number the same to the bit, and missing in the same places."""
    assert one.dtype == other.dtype == np.float64 and one.shape == other.shape
    missing = np.isnan(one)
    assert np.array_equal(missing, np.isnan(other))
    return np.array_equal(one[~missing].view(np.uint64), other[~missing].view(np.uint64))
