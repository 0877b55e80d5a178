"""Networks of ratios against data and results that were published.

Smoking cessation: Hasselblad, Med. Decis. Making 18 (1998) 37, the 24 studies of Lu and Ades 2006;
consistency model and design-by-treatment test: White, Barrett, Jackson, Higgins, Res. Synth. Methods 3
(2012) 111, and White, Stata J. 15 (2015) 951. Glucose: Senn, Gavini, Magrez, Scheen, Stat. Methods Med.
Res. 22 (2013) 169; its squares: Krahn, Binder, König, BMC Med. Res. Methodol. 13 (2013) 35. Two levels:
Konstantopoulos, Res. Synth. Methods 2 (2011) 61, with the figures of restricted likelihood that
Viechtbauer's documentation prints for it. Printed digits from memory, but for those of the two levels,
which public test files give; data agree with the public data sets.
"""

from collections.abc import Sequence
from typing import Any

import numpy as np
import pytest
from scipy.stats import chi2

from strikeproof.judge.elsewhere.consistency import find_loops, judge_designs
from strikeproof.judge.elsewhere.network import Network, Stack, fit_network, stack_sources
from strikeproof.judge.elsewhere.sources import Source

SMOKING = """
A 9 140 C 23 140 D 10 138; B 11 78 C 12 85 D 29 170; A 79 702 B 77 694; A 18 671 B 21 535; A 8 116 B 19
146; A 75 731 C 363 714; A 2 106 C 9 205; A 58 549 C 237 1561; A 0 33 C 9 48; A 3 100 C 31 98; A 1 31 C
26 95; A 6 39 C 17 77; A 95 1107 C 134 1031; A 15 187 C 35 504; A 78 584 C 73 675; A 69 1177 C 54 888; A
64 642 C 107 761; A 5 62 C 8 90; A 20 234 C 34 237; A 0 20 D 9 20; B 20 49 C 16 43; B 7 66 D 32 127; C
12 76 D 20 74; C 9 55 D 3 26
"""
GLUCOSE = """
metf plac -1.90 .1414; metf plac -.82 .0992; rosi plac -1.34 .1435; rosi plac -1.10 .1141; piog plac
-1.30 .1268; rosi plac -.77 .1078; piog metf .16 .0849; piog rosi .10 .1831; rosi plac -1.30 .1014; rosi
plac -1.09 .2263; rosi plac -1.50 .1624; rosi metf -.14 .2239; rosi sulf -1.20 .1436; acar sulf -.40
.1549; acar plac -.80 .1432; sita plac -.57 .1291; vild plac -.70 .1273; metf sulf -.37 .1184; migl plac
-.74 .1839; migl plac -1.41 .2235; rosi metf .00 .2339; migl plac -.68 .2828; metf plac -.40 .4356; benf
plac -.23 .3467; benf plac -1.01 .1366
"""
SCHOOLS = """
-.18 .118 -.22 .118 .23 .144 -.30 .144; .13 .014 -.26 .014 .19 .015 .32 .024; .45 .023 .38 .043 .29
.012; .16 .020 .65 .004 .36 .004 .60 .007; .08 .019 .04 .007 .19 .005 -.06 .004; -.18 .020 .00 .018 .00
.019 -.28 .022 -.04 .020 -.30 .021 .07 .006 .00 .007 .05 .007 -.08 .007 -.09 .007; .30 .015 .98 .011
1.19 .010; -.07 .001 -.05 .001 -.01 .001 .02 .001 -.03 .001 .00 .001 .01 .001 -.10 .001; .50 .010 .66
.011 .20 .010 .00 .009 .05 .013 .07 .013; -.52 .031 .70 .031 -.03 .030 .27 .030 -.34 .030; .12 .087 .61
.082 .04 .067 -.05 .067
"""


def source(name: str, articles: Sequence[str], ratio: Any, covariance: Any) -> Source:
    return Source(name, name, name, tuple(articles), np.atleast_1d(ratio), np.atleast_2d(covariance), np.inf)


def smoking() -> Stack:
    sources = []
    for name, text in enumerate(SMOKING.split(";")):
        words = text.split()
        quit_, seen = (np.array(words[i::3], dtype=float) for i in (1, 2))
        half = 0.5 * bool(np.any(quit_ == 0.0))
        quit_, stayed = quit_ + half, seen - quit_ + half
        logs, square = np.log(quit_ / stayed), 1.0 / quit_ + 1.0 / stayed
        sources.append(source(f"{name}", words[::3], logs[1:] - logs[0], square[0] + np.diag(square[1:])))
    return stack_sources(sources, "A")


def glucose() -> Stack:
    sources = [
        source(f"{name}", (other, first), float(value), float(error) ** 2)
        for name, text in enumerate(GLUCOSE.split(";"))
        for first, other, value, error in [text.split()]
    ]
    # Three arms: their variances follow from the three errors .3579, .3758 and .4669 of their differences.
    pairs = np.array([[1, 1, 0], [1, 0, 1], [0, 1, 1]])
    metformin, acarbose, placebo = np.linalg.solve(pairs, np.array([0.3579, 0.3758, 0.4669]) ** 2)
    covariance = placebo + np.diag([metformin, acarbose])
    sources.append(source("three arms", ("plac", "metf", "acar"), [-1.20, -1.00], covariance))
    return stack_sources(sources, "plac")


def ratios(fit: Network) -> dict[str, float]:
    return dict(zip(fit.stack.articles[1:], fit.effect.tolist(), strict=True))


def test_smoking_by_consistency():
    """White 2012 and 2015: effects .398, .702 and .866."""
    fit = fit_network(smoking())
    assert ratios(fit) == pytest.approx({"B": 0.398, "C": 0.702, "D": 0.866}, abs=6e-4)


def test_smoking_by_designs():
    """White 2012, section 5: the interaction of design and treatment has chi-squared 5.11 on 7, p = 0.65."""
    found = judge_designs(smoking())
    assert found is not None and found.freedom == 7
    assert found.statistic == pytest.approx(5.11, abs=5e-3)
    assert chi2.sf(found.statistic, 7) == pytest.approx(0.65, abs=5e-3)


def test_glucose_with_one_true_effect():
    """Senn 2013: nine effects to four decimals, and the squares of Krahn 2013, 96.99 on 18."""
    fit = fit_network(glucose(), variances={"bench": 0.0})
    printed = {"acar": -0.8274, "benf": -0.9052, "metf": -1.1141, "migl": -0.9439, "piog": -1.0664}
    printed |= {"rosi": -1.2018, "sita": -0.5700, "sulf": -0.4395, "vild": -0.7000}
    assert ratios(fit) == pytest.approx(printed, abs=5.1e-5)
    assert (fit.heterogeneity, fit.freedom) == (pytest.approx(96.99, abs=5e-3), 18)


def test_glucose_squares_between_designs():
    """Krahn 2013, table 1: of these 22.53 on 7 are between designs, p = 0.0021, and 74.46 on 11 within."""
    found = judge_designs(glucose(), {"bench": 0.0})
    assert found is not None and (found.freedom, found.within) == (7, 11)
    assert found.statistic == pytest.approx(22.53, abs=5e-3)
    assert chi2.sf(found.statistic, 7) == pytest.approx(0.0021, abs=5e-5)


def test_the_sides_of_a_triangle_are_those_of_bucher():
    """Bucher, Guyatt, Griffith, Walter, J. Clin. Epidemiol. 50 (1997) 683: by hand, in a loop of three."""
    stack = stack_sources(
        [
            source("1", ("a", "b"), 0.10, 0.02**2),
            source("2", ("b", "c"), 0.05, 0.03**2),
            source("3", ("a", "c"), 0.30, 0.04**2),
        ],
        "a",
    )
    loops = {(each.first, each.second): each for each in find_loops(stack, {"bench": 0.0})}
    found = loops["a", "c"]
    assert (found.direct, found.indirect) == pytest.approx((-0.30, -0.15))
    assert found.error == pytest.approx(np.sqrt(0.02**2 + 0.03**2 + 0.04**2))
    assert [each.p for each in loops.values()] == pytest.approx([found.p] * 3)


def test_two_levels_of_schools():
    """0.1847 ± 0.0846, variances 0.0651 of districts and 0.0327 of schools; schools alone 0.1279, 0.0884."""
    rows = [np.array(text.split(), dtype=float).reshape(-1, 2) for text in SCHOOLS.split(";")]
    two = [
        Source(f"{i}-{j}", f"{i}", f"{i}-{j}", ("a", "b"), row[:1], row[1:].reshape(1, 1), np.inf)
        for i, district in enumerate(rows)
        for j, row in enumerate(district)
    ]
    fit = fit_network(stack_sources(two, "a"))
    assert fit.effect[0] == pytest.approx(0.18471316, abs=2e-7)
    assert np.sqrt(fit.covariance[0, 0]) == pytest.approx(0.08455592, abs=2e-7)
    assert list(fit.variances.values()) == pytest.approx([0.06506194, 0.03273652], abs=2e-7)
    one = [
        Source(each.name, each.name, "", each.articles, each.ratio, each.covariance, np.inf) for each in two
    ]
    alone = fit_network(stack_sources(one, "a"))
    assert (alone.effect[0], alone.between) == pytest.approx((0.1279, 0.0884), abs=5.1e-5)
