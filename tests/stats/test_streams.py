"""Random numbers that belong to seed, trial and name."""

import math

import numpy as np
import pytest

from simcal.stats.streams import SHAPES, draw, generator, probability, quantile

FIXED = [0.051156169348285874, 0.15516810472837222, 0.29290377665953743]


def test_the_stream_depends_on_seed_trial_and_name_alone():
    first = probability(generator(1, 7, "volume.port.capacity"))
    generator(1, 7, "another").random(1000)
    assert probability(generator(1, 7, "volume.port.capacity")) == first
    others = {
        probability(generator(*key))
        for key in ((2, 7, "volume.port.capacity"), (1, 8, "volume.port.capacity"), (1, 7, "x"))
    }
    assert first not in others
    assert len(others) == 3


def test_numbers_stay_what_they_were():
    # regression: a change here would change every published answer with its seed
    source = generator(1, 0, "gas")
    assert [probability(source) for _ in range(3)] == pytest.approx(FIXED, abs=1e-15)


def test_names_that_could_run_together_do_not():
    assert probability(generator(1, 11, "a")) != probability(generator(11, 1, "a"))


def test_streams_of_neighbouring_trials_are_even_and_independent():
    # chi-squared over 20 cells, 19 degrees of freedom: 43.8 at 0.1 %; correlation of neighbours within 4/sqrt(n)
    p = np.array([probability(generator(1, i, "x")) for i in range(4000)])
    counts = np.bincount((p * 20.0).astype(int), minlength=20)
    assert ((counts - 200.0) ** 2 / 200.0).sum() < 43.8
    assert abs(np.corrcoef(p[1:], p[:-1])[0, 1]) < 4.0 / math.sqrt(4000)


@pytest.mark.parametrize(
    ("shape", "p", "value"),
    [
        ("exact", 0.9, 10.0),
        ("normal", 0.5, 10.0),
        ("normal", 0.8413447460685429, 12.0),
        ("uniform", 0.0, 10.0 - 2.0 * math.sqrt(3.0)),
        ("uniform", 1.0, 10.0 + 2.0 * math.sqrt(3.0)),
        ("log", 0.5, 10.0),
        ("log", 0.8413447460685429, 10.0 * math.exp(2.0)),
    ],
)
def test_quantiles_of_the_shapes(shape, p, value):
    # standard normal: 0.841344746 at one standard deviation; uniform half-width sd sqrt 3
    assert quantile(shape, 10.0, 2.0, p) == pytest.approx(value, rel=1e-12)


@pytest.mark.parametrize("shape", ["normal", "uniform"])
def test_draws_have_the_mean_and_deviation_that_were_asked_for(shape):
    source = generator(3, 0, shape)
    x = np.array([draw(source, shape, 5.0, 2.0) for _ in range(20000)])
    assert x.mean() == pytest.approx(5.0, abs=4.0 * 2.0 / math.sqrt(20000))
    assert x.std() == pytest.approx(2.0, rel=0.03)


def test_a_factor_of_two_is_ln_two():
    source = generator(3, 0, "log")
    x = np.array([draw(source, "log", 1.0, math.log(2.0)) for _ in range(20000)])
    assert np.mean((x > 0.5) & (x < 2.0)) == pytest.approx(0.6827, abs=0.015)


def test_every_shape_takes_one_number_of_the_stream():
    after = set()
    for shape in SHAPES[1:]:
        source = generator(1, 1, "x")
        draw(source, shape, 1.0, 0.1)
        after.add(probability(source))
    source = generator(1, 1, "x")
    draw(source, "exact", 1.0, 0.0)
    after.add(probability(source))
    assert len(after) == 1


def test_an_unknown_shape_is_named():
    with pytest.raises(ValueError, match="must be one of exact, normal, uniform, log"):
        quantile("triangle", 1.0, 0.1, 0.5)
