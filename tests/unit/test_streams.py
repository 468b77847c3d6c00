"""The layout of the random draws: what `--seed` promises is held here by literal values.

Two checks that do not lean on each other. The literal draws come from our own output of NumPy's
Philox, whose raw words NumPy promises to keep: they notice any change of layout. And the generator
is written out below in plain Python from the paper (J. K. Salmon and others, SC11, 2011), held
against two known answers of its authors' distribution (from memory), and asked for the same draws.
"""

from concurrent.futures import ThreadPoolExecutor

import numpy as np
import pytest
from scipy.stats import kstest

from powersim.sky import streams

WORD = 2**64
PURPOSES = {
    name: value for name, value in vars(streams).items() if name.isupper() and "SEED" not in name
}


def philox_block(counter, key):
    """Four 64-bit words of Philox 4x64-10."""
    (a, b, c, d), (low_key, high_key) = counter, key
    for _ in range(10):
        first, second = 0xD2E7470EE14C6C93 * a, 0xCA5A826395121157 * c
        a, b, c, d = (
            (second // WORD) ^ b ^ low_key,
            second % WORD,
            (first // WORD) ^ d ^ high_key,
            first % WORD,
        )
        low_key = (low_key + 0x9E3779B97F4A7C15) % WORD
        high_key = (high_key + 0xBB67AE8584CAA73B) % WORD
    return [a, b, c, d]


@pytest.mark.parametrize(
    ("filled_with", "words"),
    [
        (0, "16554d9eca36314c db20fe9d672d0fdc d7e772cee186176b 7e68b68aec7ba23b"),
        (WORD - 1, "87b092c3013fe90b 438c3c67be8d0224 9cc7d7c69cd777b6 a09caebf594f0ba0"),
    ],
)
def test_philox_gives_its_authors_known_answers(filled_with, words):
    """Counter and key all zeros, and all ones; from memory of the authors' list."""
    expected = [int(word, 16) for word in words.split()]
    assert philox_block([filled_with] * 4, [filled_with] * 2) == expected
    # NumPy counts up before each block: it is set one lower.
    before = [(WORD - 1 if filled_with == 0 else WORD - 2), *[WORD - 1] * 3]
    numpys = np.random.Philox(
        counter=np.array(before, dtype=np.uint64),
        key=np.array([filled_with] * 2, dtype=np.uint64),
    )
    assert numpys.random_raw(4).tolist() == expected


@pytest.mark.parametrize(("seed", "index"), [(7, 20_000), (0, -5), (2**63 - 1, 0)])
def test_draws_are_those_of_philox_at_the_documented_address(seed, index):
    words = [
        word
        for block in range(1, 4)
        for word in philox_block([block, 0, index + 2**62, 0], [seed, streams.WIND])
    ]
    expected = [((word >> 11) + 0.5) / 2**53 for word in words]
    found = streams.uniform(streams.WIND, seed=seed, index=index, members=6, per_member=2)
    assert found.T.ravel().tolist() == expected  # member by member


def test_the_layout_is_the_promised_one():
    """Our own output when the layout was fixed; not evidence of being right, but of staying."""
    assert streams.uniform(
        streams.WIND, seed=7, index=20_000, members=2, per_member=3
    ).tolist() == [
        [0.9517428626565794, 0.008964651599222606],
        [0.41297910166218627, 0.039674837078580716],
        [0.3697815789320252, 0.9151222024440904],
    ]
    assert streams.uniform(streams.DAY_CLEARNESS, seed=0, index=0, members=2).tolist() == [
        [0.31492015599882245, 0.9380449028533207]
    ]
    assert streams.uniform(streams.READING_AGAIN, seed=7, index=500_000, members=2).tolist() == [
        [0.518661367758892, 0.697911506701083]
    ]
    # The inverse of the normal distribution may differ in its last digits between machines.
    (normal,) = streams.normal(streams.LOAD_DRAW, seed=2**63 - 1, index=-5, members=2)
    assert normal == pytest.approx([-1.666854220254659, 0.6240128852978487], rel=1e-13)


def test_numbers_of_purposes_stay_and_are_all_different():
    promised = {
        "DAY_CLEARNESS": 1,
        "HOUR_CLEARNESS": 2,
        "WIND": 3,
        "LOAD_DRAW": 4,
        "READING": 5,
        "UNDERWAY": 6,
        "READING_AGAIN": 7,
        "BANK": 9,
        "WIND_SLOW": 11,
        "CALM_TURN": 12,
        "LOAD_BY_NAME": 13,
    }
    assert PURPOSES.items() >= promised.items()
    assert len(set(PURPOSES.values())) == len(PURPOSES)


def test_a_name_has_the_first_62_bits_of_its_sha_256_as_its_index():
    """Of "abc", NIST's example (FIPS 180-2, B.1): ba7816bf 8f01cfea ..."""
    assert streams.index_of("abc") == 0xBA7816BF8F01CFEA // 4


def test_members_do_not_depend_on_how_many_there_are():
    few, many = (
        streams.uniform(streams.WIND, seed=1, index=3, members=members, per_member=5)
        for members in (3, 1000)
    )
    assert few.shape == (5, 3)
    assert np.array_equal(few, many[:, :3])


def test_threads_draw_what_one_would():
    """Each has a generator of its own; in one and the same they would disturb each other."""

    def draws(index):
        return streams.uniform(streams.WIND, seed=1, index=index, members=40, per_member=24)

    with ThreadPoolExecutor(4) as pool:
        beside = list(pool.map(draws, range(400)))
    for index in range(400):
        assert np.array_equal(beside[index], draws(index))


def test_another_purpose_seed_index_or_member_draws_apart():
    def draws(purpose=streams.WIND, **changed):
        return streams.uniform(purpose, **{"seed": 1, "index": 3, "members": 2000} | changed)[0]

    others = [
        draws(streams.READING),
        draws(streams.READING_AGAIN),
        draws(seed=2),
        draws(index=4),
        draws(members=4000)[2000:],
    ]
    for other in others:
        # Four standard errors of no correlation.
        assert abs(np.corrcoef(draws(), other)[0, 1]) < 4.0 / np.sqrt(2000)


def test_draws_are_uniform_and_normal():
    where = {"seed": 5, "index": 11, "members": 50_000}
    uniform = streams.uniform(streams.WIND, **where).ravel()
    assert uniform.min() > 0.0
    assert uniform.max() < 1.0
    assert kstest(uniform, "uniform").pvalue > 0.01
    assert kstest(streams.normal(streams.WIND, **where).ravel(), "norm").pvalue > 0.01


@pytest.mark.parametrize("seed", [-1, 2**63])
def test_a_seed_out_of_range_is_refused(seed):
    with pytest.raises(ValueError, match=f"^seed must be 0 to 9223372036854775807, got {seed}$"):
        streams.uniform(streams.WIND, seed=seed, index=0, members=1)
