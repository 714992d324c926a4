"""Consensus limits, GMI tables and the consensus grid against what is published."""

import numpy as np
import pytest

from evenhand.compare.ranges import gmi
from evenhand.compare.worn_readings import consensus_range
from evenhand.compare.zones import zone
from evenhand.units import FACTOR, Glucose, Unit, from_mg_dl, rounded, shown

# GMI, Bergenstal et al., Diabetes Care 2018;41:2275-2280: the printed table, percent by mean in mg/dL. READ in a
# secondary text, every line re-derived.
GMI_PERCENT = {
    100: "5.7", 125: "6.3", 150: "6.9", 175: "7.5", 200: "8.1", 225: "8.7", 250: "9.3", 275: "9.9", 300: "10.5",
    350: "11.7",
}  # fmt: skip
# The same in mmol/mol by mean in mmol/L, 12.71 + 4.70587 times the mean.
GMI_MMOL_MOL = {
    5: "36.2", 6: "40.9", 7: "45.7", 8: "50.4", 9: "55.1", 10: "59.8", 12: "69.2", 14: "78.6", 16: "88.0", 18: "97.4",
}  # fmt: skip


@pytest.mark.parametrize("mean", GMI_PERCENT)
def test_gmi_table(mean):
    """The printed GMI table, rounded by the one rounding function."""
    assert rounded(gmi(mean), 1) == GMI_PERCENT[mean]


@pytest.mark.parametrize("mean", GMI_MMOL_MOL)
def test_gmi_table_in_mmol_per_mol(mean):
    """The printed table in mmol/mol; at 6 mmol/L rounding twice (40.95, then 41.0) would be wrong."""
    assert rounded(12.71 + 4.70587 * mean, 1) == GMI_MMOL_MOL[mean]


def test_example_of_the_interoperability_guide():
    """HL7 Continuous Glucose Monitoring 1.0.0 (READ): mean 145 mg/dL is shown with GMI 6.8 %.

    The guide shows the same mean as 8.1 mmol/L; 145 / 18.0156 is 8.0486, so rounded once it is 8.0 (COMPUTED).
    """
    assert rounded(gmi(145), 1) == "6.8"
    assert from_mg_dl(145, Unit.MMOL_L) == pytest.approx(8.0486, abs=5e-5)
    assert shown(145, Unit.MMOL_L) == "8.0"


# Battelino et al., Diabetes Care 2019;42:1593-1603, Table 1 (READ): mg/dL, mmol/L, the range at the limit and just past it.
PAIRS = [(54, 3.0, 1, 0), (70, 3.9, 2, 1), (180, 10.0, 2, 3), (250, 13.9, 3, 4)]


@pytest.mark.parametrize(("mg", "mmol", "at", "past"), PAIRS)
def test_consensus_pairs(mg, mmol, at, past):
    """At each limit the value belongs to the range nearer the middle, in both units, without conversion."""
    outward = 1 if mg > 100 else -1
    values = [mg, mg + outward, mmol, round(mmol + outward / 10, 1)]
    assert consensus_range(values, [False, False, True, True], [0] * 4).tolist() == [at, past, at, past]


def test_converted_limits_would_be_wrong():
    """70 mg/dL is not low but is 3.886 mmol/L; 3.9 mmol/L is 70.26 mg/dL; 10.0 mmol/L is 180.156, in range (COMPUTED)."""
    assert pytest.approx(3.8855, abs=5e-5) == 70 / FACTOR
    assert pytest.approx(70.26, abs=5e-3) == 3.9 * FACTOR
    assert not Glucose(70.0, Unit.MG_DL, "70").is_low
    assert not Glucose(10.0, Unit.MMOL_L, "10.0").is_high
    assert consensus_range([70 / FACTOR], [True], [0]).tolist() == [1]


def test_factor_from_atomic_masses():
    """6 × 12.011 + 12 × 1.008 + 6 × 15.999 = 180.156 g/mol (masses MEMORY), so 18.0156 mg/dL per mmol/L."""
    assert pytest.approx(10 * FACTOR, abs=1e-9) == 6 * 12.011 + 12 * 1.008 + 6 * 15.999


# Consensus grid type 1, vertices MEMORY (Pfützner et al., J Diabetes Sci Technol 2013;7:1275): stick, the reading on the
# border, the zones at it and just past it, which way is out.
SPOTS = [
    (20, 50, "A", "B", +1),
    (140, 170, "A", "B", +1),
    (280, 380, "A", "B", +1),
    (170, 145, "A", "B", -1),
    (385, 300, "A", "B", -1),
    (20, 60, "B", "C", +1),
    (50, 80, "B", "C", +1),
    (70, 110, "B", "C", +1),
    (165, 330, "B", "C", +1),
    (260, 130, "B", "C", -1),
    (190, 80, "B", "C", -1),
    (20, 100, "C", "D", +1),
    (50, 125, "C", "D", +1),
    (80, 215, "C", "D", +1),
    (400, 95, "C", "D", -1),
    (35, 155, "D", "E", +1),
    (42.5, 352.5, "D", "E", +1),
]


@pytest.mark.parametrize(("stick", "reading", "at", "past", "out"), SPOTS)
def test_consensus_grid_borders(stick, reading, at, past, out):
    """Vertices and points half-way along segments: on the border the zone nearer A, a little further out the next."""
    found = zone([stick, stick], [reading, reading + out * 0.001])
    assert ["ABCDE"[z] for z in found] == [at, past]


def test_no_lower_e():
    """There is no zone E below the diagonal, however far off."""
    assert zone(np.full(5, 550.0), [0, 50, 100, 149, 151]).tolist() == [3, 3, 3, 3, 2]
