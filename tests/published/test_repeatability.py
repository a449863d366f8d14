"""Repeatability against NIST StRD, analysis of variance, data set SiRstv (resistance of silicon wafers).

Data keyed from memory; that they are right is shown by the certified value they lead to: residual standard
deviation 1.04076068334656E-01 with 20 degrees of freedom.
"""

from __future__ import annotations

from decimal import Decimal

import pytest

from fieldtui.core.account.repeatability import pooled

SIRSTV = (
    "196.3052 196.1240 196.1890 196.2569 196.3403",
    "196.3042 196.3825 196.1669 196.3257 196.0422",
    "196.1303 196.2005 196.2889 196.0343 196.1811",
    "196.2795 196.1748 196.1494 196.1485 195.9885",
    "196.2119 196.1051 196.1850 196.0052 196.2090",
)


def test_five_instruments_on_one_wafer() -> None:
    found = pooled([[Decimal(value) for value in line.split()] for line in SIRSTV])
    assert found is not None
    assert float(found.deviation) == pytest.approx(1.04076068334656e-01, rel=1e-14)
    assert (found.freedom, found.takes) == (20, 5)


def test_groups_of_one_say_nothing() -> None:
    assert pooled([[Decimal(1)], [Decimal(2)]]) is None
    assert pooled([]) is None
    found = pooled([[Decimal(1)], [Decimal(2), Decimal(4)]])
    assert found is not None
    assert found.deviation**2 == pytest.approx(Decimal(2))
    assert (found.freedom, found.takes) == (1, 1)
