"""Leaving one stick out, and gross sticks."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from tests.reconstruct.shared import small_problem

from evenhand.reconstruct.model import solve
from evenhand.reconstruct.priors import METER
from evenhand.reconstruct.sticks import blood_at, left_out_z, usable


def test_leaving_one_out_is_what_a_fit_without_it_says() -> None:
    """The algebra from one solve equals solving again without each stick."""
    problem = small_problem()
    u = np.zeros(problem.priors.size)
    z = left_out_z(solve(problem, u))
    for stick in range(0, z.size, 3):
        used = np.ones(z.size, np.bool_)
        used[stick] = False
        without = solve(problem.using(used), u)
        assert left_out_z(without)[stick] == pytest.approx(z[stick], rel=1e-6, abs=1e-8)
        mean, variance = blood_at(without, problem.told.at[stick : stick + 1])
        spread = np.sqrt(variance + without.value[METER] ** 2 / problem.told.many[stick])
        assert (problem.told.value[stick] - mean[0]) / spread[0] == pytest.approx(
            z[stick], rel=1e-6, abs=1e-8
        )


def test_a_gross_stick_is_left_out_and_no_other() -> None:
    """A stick moved by 0.6 (60 mg/dL below 100) goes; its neighbours stay."""
    problem = small_problem()
    u = np.zeros(problem.priors.size)
    assert usable(problem, u).all()
    value = problem.told.value.copy()
    value[4] += 0.6
    used = usable(replace(problem, told=replace(problem.told, value=value)), u)
    assert not used[4]
    assert used.sum() == used.size - 1
