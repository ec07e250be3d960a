"""The packaged tables of yarn: the order that physics and trade demand (provenance: `tests/test_tables.py`)."""

from importlib import resources

from loopwright.sources.table import Row, table
from loopwright.yarn.count import systems
from loopwright.yarn.diameter import spinnings
from loopwright.yarn.fibre import density_of, fibres
from loopwright.yarn.naming import fibre_named
from loopwright.yarn.regain import MARKETS

PACKAGE = "loopwright.yarn"
NAMES = sorted(
    file.name.removesuffix(".csv")
    for file in (resources.files(PACKAGE) / "data").iterdir()
    if file.name.endswith(".csv")
)


def rows(name: str) -> tuple[Row, ...]:
    return table(PACKAGE, name).rows


def regain(fibre: str, market: str) -> float:
    return table(PACKAGE, "regains").by("fibre", "market")[fibre, market]["regain_percent"]


def test_every_band_holds_its_value() -> None:
    for name in NAMES:
        for row in rows(name):
            for column in [column for column in row.cells if column.endswith("_low") and row.has(column)]:
                stem = column.removesuffix("_low")
                assert row[column] < row[f"{stem}_high"]
                if stem in row.cells:
                    assert row[column] <= row[stem] <= row[f"{stem}_high"]


def test_each_count_system_is_defined_by_one_length_and_one_mass() -> None:
    for row in rows("count_systems"):
        assert row.has("length_m") != row.has("length_yd")
        assert row.has("mass_g") != row.has("mass_lb")
        assert row.text("direction") in {"direct", "indirect"}
        assert row.text("made") in {"spun", "woollen", "filament"}
        assert row.text("written") in {"folds_first", "single_first", "multiplied"}


def test_no_word_names_two_count_systems_or_two_spinnings() -> None:
    counted = [word for system in systems().values() for word in system.words]
    assert len(counted) == len(set(counted))
    spun = [word for row in spinnings().values() for word in row.text("words").split("|")]
    assert len(spun) == len(set(spun))


def test_fibres_stand_in_the_order_of_their_density() -> None:
    lightest_first = ["polypropylene", "polyamide_staple", "acrylic", "wool_combed", "polyester", "viscose", "cotton"]
    densities = [density_of(fibre).value for fibre in lightest_first]
    assert densities == sorted(densities)
    assert len(set(densities)) == len(densities)
    assert all(0.9 <= density_of(fibre).value <= 1.6 for fibre in fibres())


def test_variants_of_one_fibre_have_one_density() -> None:
    assert density_of("wool_combed").value == density_of("wool_carded").value
    assert density_of("polyamide_staple").value == density_of("polyamide_filament").value
    assert density_of("cashmere").value == density_of("cashmere_combed").value


def test_packing_stands_in_the_order_of_how_closely_the_spinnings_hold_their_fibres() -> None:
    loosest_first = ["brushed", "woollen", "worsted_two_fold", "rotor_cotton", "ring_cotton", "flat_filament"]
    packed = [spinnings()[spinning]["packing"] for spinning in loosest_first]
    assert packed == sorted(packed)
    hexagonal = 0.9069  # circles cannot lie closer: π/(2·√3)
    assert all(row["packing_low"] > 0 and row["packing_high"] <= hexagonal for row in spinnings().values())


def test_every_fibre_has_an_agreed_regain_in_the_european_market() -> None:
    assert {row.text("fibre") for row in rows("regains") if row.text("market") == "EU"} == set(fibres())
    assert {row.text("market") for row in rows("regains")} == set(MARKETS)
    assert all(0 <= row["regain_percent"] < 20 for row in rows("regains"))


def test_thirsty_fibres_have_the_larger_regains_in_each_market() -> None:
    for market in MARKETS:
        driest_first = ["polypropylene", "acrylic", "polyamide_filament", "cotton", "linen", "wool_combed"]
        percents = [regain(fibre, market) for fibre in driest_first]
        assert percents == sorted(percents)


def test_combed_hair_has_more_agreed_regain_than_carded_and_staple_more_than_filament() -> None:
    assert regain("wool_combed", "EU") > regain("wool_carded", "EU")
    assert regain("cashmere_combed", "EU") > regain("cashmere", "EU")
    assert regain("polyamide_staple", "EU") > regain("polyamide_filament", "EU")


def test_europe_agrees_on_no_less_moisture_than_america() -> None:
    american = [row.text("fibre") for row in rows("regains") if row.text("market") == "US"]
    assert all(regain(fibre, "EU") >= regain(fibre, "US") for fibre in american)


def test_every_fibre_has_a_spinning_of_the_packing_table() -> None:
    for row in fibres().values():
        assert row.text("spun") in spinnings()
        assert row.text("filament") in spinnings()


def test_every_fibre_is_known_by_its_own_key_and_every_word_means_a_fibre_of_the_table() -> None:
    for key in fibres():
        assert fibre_named(key) == key or row_of_word(key) is not None
    for row in rows("fibre_words"):
        for made in ("spun", "woollen", "filament"):
            assert not row.has(made) or row.text(made) in fibres()
        assert row.has("spun")


def row_of_word(word: str) -> Row | None:
    return next((row for row in rows("fibre_words") if row.text("word") == word), None)


def test_twist_rows_carry_one_scale_and_a_spinning_of_the_packing_table() -> None:
    for row in rows("twist_multiplier"):
        assert row.text("spinning") in spinnings()
        assert row.has("english_multiplier_low") != row.has("alpha_metric_low")
