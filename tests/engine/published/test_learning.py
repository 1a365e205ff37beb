"""Beta and Dirichlet updates against published examples; scipy as a second opinion where it is installed."""

import math
import random
import statistics

import pytest
from hypothesis import given
from hypothesis import strategies as st

from comeback.engine.learning.beta import (
    Beta,
    beta_cdf,
    converged_gamma,
    gamma_of,
    judged,
    pooled,
)

# Gelman et al., Bayesian Data Analysis, 3rd ed., section 2.4 (p. 37), placenta praevia: 437 girls of 980
# births, uniform prior. Posterior, mean and interval read in a companion page; median and sd computed there too.
GIRLS, BIRTHS = 437, 980


def test_placenta_praevia():
    belief = Beta(1, 1).after(GIRLS, BIRTHS)
    assert (belief.a, belief.b) == (438, 544)
    assert belief.mean == pytest.approx(0.44602851, abs=5e-9)
    assert belief.quantile(0.5) == pytest.approx(0.44599186, abs=5e-9)
    assert belief.interval() == pytest.approx((0.41506549, 0.47719977), abs=5e-9)


# The same book, Table 2.1 (from memory, confirmed by computation): prior mean 0.485, pseudo-count n0.
@pytest.mark.parametrize(
    ("weight", "median", "interval"),
    [
        (2, 0.446, (0.415, 0.477)),
        (5, 0.446, (0.415, 0.477)),
        (10, 0.446, (0.415, 0.477)),
        (20, 0.447, (0.416, 0.478)),
        (100, 0.450, (0.420, 0.479)),
        (200, 0.453, (0.424, 0.481)),
    ],
)
def test_the_judgement_weighs_as_much_as_its_pseudo_count(weight, median, interval):
    belief = judged(0.485, weight).after(GIRLS, BIRTHS)
    assert belief.quantile(0.5) == pytest.approx(median, abs=6e-4)
    assert belief.interval() == pytest.approx(interval, abs=6e-4)


# The same book, section 3.4, pre-election poll: counts 727, 583, 137, uniform prior -> Dirichlet(728, 584, 138)
# (read in two secondary texts); means and 95 % intervals of each share computed from it.
def test_pre_election_poll():
    after = (1 + 727, 1 + 583, 1 + 137)
    shares = [Beta(mine, sum(after) - mine) for mine in after]
    assert [share.mean for share in shares] == pytest.approx([0.502069, 0.402759, 0.095172], abs=5e-7)
    assert shares[0].interval() == pytest.approx((0.476343503, 0.527789022), abs=5e-9)
    assert shares[2].interval() == pytest.approx((0.080611079, 0.110791138), abs=5e-9)


# The same book, section 5.1, tumours in 71 groups of rats (from memory; the sums 267 of 1739 are the published
# ones). Published there: the other 70 shares have mean 0.136 and sd 0.103, which fix a prior with mean 0.136
# and weight 0.136 * 0.864 / 0.103**2 - 1 = 10.08; the last group (4 of 14) then has mean 0.223 and sd 0.083.
TUMOURS = [0] * 14 + [1] * 8 + [2] * 9 + [1, 5, 2, 5, 3, 2, 7, 7, 3, 3, 2, 9, 10] + [4] * 7
TUMOURS += [10, 4, 4, 4, 5, 11, 12, 5, 5, 6, 5, 6, 6, 6, 6, 16, 15, 15, 9, 4]
RATS = [20] * 7 + [19] * 4 + [18, 18, 17, 20, 20, 20, 20, 19, 19, 18, 18, 25, 24, 23] + [20] * 6
RATS += [10, 49, 19, 46, 27, 17, 49, 47, 20, 20, 13, 48, 50] + [20] * 7
RATS += [48, 19, 19, 19, 22, 46, 49, 20, 20, 23, 19, 22, 20, 20, 20, 52, 46, 47, 24, 14]


def test_a_small_group_leans_on_all_groups():
    last = judged(0.136, 0.136 * 0.864 / 0.103**2 - 1).after(4, 14)
    assert last.mean == pytest.approx(0.223, abs=5e-4)


def test_how_much_groups_differ_agrees_with_maximum_likelihood():
    """Two ways to estimate one weight from 71 groups: within a factor of 1.5 of each other (own tolerance)."""
    groups = list(zip(TUMOURS, RATS, strict=True))
    assert (len(groups), sum(TUMOURS), sum(RATS)) == (71, 267, 1739)

    def likelihood(mean, weight):
        a, b = mean * weight, (1 - mean) * weight
        return math.fsum(
            math.lgamma(a + y) + math.lgamma(b + n - y) - math.lgamma(weight + n)
            + math.lgamma(weight) - math.lgamma(a) - math.lgamma(b)
            for y, n in groups
        )  # fmt: skip

    grid = [(mean / 1000, weight / 2) for mean in range(120, 180, 2) for weight in range(10, 80)]
    best = max(grid, key=lambda point: likelihood(*point))[1]
    found = 1 / converged_gamma([(groups, 267 / 1739)]) - 1
    assert best / 1.5 < found < best * 1.5


@pytest.mark.parametrize(
    ("a", "b"), [(1, 1), (0.5, 0.5), (0.02, 19.98), (2, 3), (438, 544), (5.4, 18.6), (8, 992), (3e4, 7e5), (1e6, 2)]
)
def test_distribution_agrees_with_scipy(a, b):
    special = pytest.importorskip("scipy.special", reason="second opinion; pip install scipy")
    stats = pytest.importorskip("scipy.stats", reason="second opinion; pip install scipy")
    for share in (0.025, 0.5, 0.975):
        place = stats.beta.ppf(share, a, b)
        assert beta_cdf(place, a, b) == pytest.approx(special.betainc(a, b, place), rel=1e-8, abs=1e-12)
        assert Beta(a, b).quantile(share) == pytest.approx(place, rel=1e-7, abs=1e-12)


@given(st.floats(0.001, 0.999), st.floats(0.05, 500), st.floats(0.05, 500))
def test_distribution_and_its_mirror_image_make_one(x, a, b):
    assert beta_cdf(x, a, b) + beta_cdf(1 - x, b, a) == pytest.approx(1, abs=1e-9)


@given(st.integers(1, 40), st.integers(1, 40), st.floats(0.01, 0.99))
def test_distribution_agrees_with_the_binomial_sum(a, b, x):
    """P(Beta(a, b) <= x) is the chance of a or more hits in a+b-1 draws with chance x (textbook identity)."""
    draws = a + b - 1
    tail = math.fsum(math.comb(draws, k) * x**k * (1 - x) ** (draws - k) for k in range(a, draws + 1))
    assert beta_cdf(x, a, b) == pytest.approx(tail, abs=1e-11)


@given(st.integers(0, 60), st.integers(0, 60), st.integers(0, 60), st.integers(0, 60))
def test_order_and_portions_of_the_cases_do_not_matter(hits, misses, more_hits, more_misses):
    once = Beta(1.5, 4).after(hits + more_hits, hits + misses + more_hits + more_misses)
    twice = Beta(1.5, 4).after(more_hits, more_hits + more_misses).after(hits, hits + misses)
    assert (once.a, once.b) == pytest.approx((twice.a, twice.b))


def test_more_hits_than_trials_are_refused():
    with pytest.raises(ValueError, match="5 of 4"):
        Beta(1, 1).after(5, 4)


def test_shops_that_do_not_differ_weigh_as_one():
    assert gamma_of([([(10, 100)] * 8, 0.1)]) == 1e-6
    assert converged_gamma([([(10, 100)], 0.1)]) == converged_gamma([]) == 1e-6
    assert gamma_of([([(0, 50), (50, 50)], 0.5)]) == 1.0


def test_how_much_shops_differ_is_found_again():
    """60 draws of 100 shops with 60 cars each from Beta(10, 40): the mean estimate is right within 3 of its errors."""
    found = []
    for seed in range(60):
        chance = random.Random(seed)
        own = [chance.betavariate(10, 40) for _ in range(100)]
        shops = [(sum(chance.random() < p for _ in range(60)), 60) for p in own]
        found.append(converged_gamma([(shops, 0.2)]))
    error = statistics.stdev(found) / math.sqrt(len(found))
    assert statistics.mean(found) == pytest.approx(1 / 51, abs=3 * error)


@given(st.integers(0, 3), st.floats(20, 5000))
def test_a_shop_of_three_cases_stays_near_all_shops(hits, kappa):
    prior, whole = judged(0.2, 20), judged(0.2, 20).after(400, 1000)
    shop = pooled(prior, 400, 1000, kappa, (hits, 3))
    weight = min(kappa, 1020)
    assert shop.mean == pytest.approx((weight * whole.mean + hits) / (weight + 3))
    assert abs(shop.mean - whole.mean) <= 3 / (weight + 3)


def test_a_large_shop_is_ruled_by_its_own_cases():
    shop = pooled(judged(0.2, 20), 400, 100_000, 200.0, (9000, 10_000))
    assert shop.mean == pytest.approx(0.9, abs=0.02)
