"""How cells, columns, places and lines of text are read."""

import io

import pytest

from opercle.errors import UsageError
from opercle.records import cells, columns, framing
from opercle.records.deciding import Decider
from opercle.records.framing import Form
from opercle.records.numbering import year_of

COMMAS = Form(",", '"', "utf-8")


@pytest.fixture(scope="module")
def decider(desk):
    return Decider(desk)


def texts(decider, cell):
    return tuple(t.lower() for t in decider.reader.read(cell).texts)


@pytest.mark.parametrize(
    ("cell", "read"),
    [
        ("BASS, STRIPED", "striped bass"),
        ("Perch,  yellow", "yellow perch"),
        ("LMB", "largemouth bass"),
        ("smb", "smallmouth bass"),
        ("Lg mouth bass", "largemouth bass"),
        ("Lg. mouth bass", "largemouth bass"),
        ("W. Crappie", "white crappie"),
        ("Blk Crappie", "black crappie"),
        ("N. Pike", "northern pike"),
        ("Ch cat", "channel catfish"),
        ("L.L. SALMON", "landlocked atlantic salmon"),
        ("juvenile largemouth bass", "largemouth bass"),
        ("Brook trout fingerlings", "brook trout"),
        ("rainbow trout (hatchery)", "rainbow trout"),
        ("CRAPPIES **", "crappies"),
        ("Lepomis sp.", "lepomis"),
        ("Lepomis spp", "lepomis"),
        ("Lepomis cf. gulosus", "lepomis"),
        ("Micropterus salmoides (Lacepède, 1802)", "micropterus salmoides"),
        ("Lepomis macrochirus Rafinesque, 1819", "lepomis macrochirus"),
        ("Lepomis gibbosus L.", "lepomis gibbosus"),
        ("Sander vitreum", "sander vitreus"),
        ("Pomoxis nigromaculata", "pomoxis nigromaculatus"),
        ("GAR, LONGNOSE", "longnose gar"),
    ],
)
def test_a_name_is_read_however_it_is_written(decider, cell, read):
    found = decider.reader.read(cell)
    assert found.kind == cells.NAME
    assert texts(decider, cell) == (read,)


@pytest.mark.parametrize(
    ("cell", "parents"),
    [
        ("BG x PS", ("bluegill", "pumpkinseed")),
        ("bluegill X pumpkinseed", ("bluegill", "pumpkinseed")),
        ("white x striped bass", ("white bass", "striped bass")),
        ("bluegill/green sunfish hybrid", ("bluegill", "green sunfish")),
        ("♀ walleye × ♂ sauger", ("walleye", "sauger")),
    ],
)
def test_a_cross_is_read_in_any_notation(decider, cell, parents):
    assert decider.reader.read(cell).kind == cells.CROSS
    assert texts(decider, cell) == parents


@pytest.mark.parametrize(
    ("cell", "names"),
    [
        ("LMB/SMB", ("largemouth bass", "smallmouth bass")),
        ("bluegill, pumpkinseed and yellow perch", ("bluegill", "pumpkinseed", "yellow perch")),
        ("white/black crappie", ("white crappie", "black crappie")),
        ("walleye & northern pike", ("walleye", "northern pike")),
        ("Bass, Striped, Bass, White", ("striped bass", "white bass")),
    ],
)
def test_several_fishes_in_one_cell_are_told_apart(decider, cell, names):
    assert decider.reader.read(cell).kind == cells.SEVERAL
    assert tuple(" ".join(t.split()) for t in texts(decider, cell)) == names


@pytest.mark.parametrize("cell", ["", "   ", "none", "no fish", "-", "n/a", "???"])
def test_a_cell_without_a_name_holds_nothing(decider, cell):
    assert decider.reader.read(cell).kind == cells.NOTHING


@pytest.mark.parametrize(
    "cell", ["CRAB, BLUE", "snapping turtle", "crayfish", "Clams", "SEAWEED **"]
)
def test_a_turtle_is_no_fish(decider, cell):
    assert decider.reader.read(cell).kind == cells.NOT_FISH


def test_a_question_mark_is_kept_as_the_writers_doubt(decider):
    found = decider.reader.read("largemouth bass?")
    assert found.unsure
    assert found.texts == ("largemouth bass",)


def test_an_ambiguous_short_form_gives_all_that_it_can_stand_for(decider):
    found = decider.reader.read("R. bass")
    assert found.kind == cells.EITHER
    assert "rock bass" in found.texts
    assert len(found.texts) > 1


def test_a_word_that_names_other_fishes_is_no_misspelling(decider):
    assert decider.read("BLUE GOATFISH").kind in (cells.NAME, cells.UNFOUND)
    found = decider.found("blue goatfish")
    assert found is None or found.read_as is None


def test_a_family_is_not_taken_for_one_spelt_alike(decider):
    found = decider.found("Sphyrnidae")
    assert found is None or found.read_as is None


# ---- columns -----------------------------------------------------------------------------------


def test_columns_are_guessed_by_their_headings():
    found = columns.find(["Trip Date", "Lake Name", "State", "Species", "Length (in)"], {})
    assert found.by_role["name"] == 3
    assert found.by_role["water"] == 1
    assert found.by_role["date"] == 0
    assert found.to_cm == pytest.approx(2.54)


def test_a_length_without_a_unit_is_not_judged_and_that_is_said():
    found = columns.find(["species", "length"], {})
    assert found.to_cm is None
    assert any("--length-unit" in line for line in found.report)
    assert columns.find(["species", "length"], {}, "mm").to_cm == pytest.approx(0.1)


def test_a_lone_scientific_name_column_is_the_name():
    found = columns.find(["id", "scientificName"], {})
    assert found.by_role["name"] == 1
    assert "scientific" not in found.by_role


def test_a_column_that_is_not_there_is_an_error_that_lists_those_that_are():
    with pytest.raises(UsageError, match="no column") as caught:
        columns.find(["species", "lake"], {"name": "fishh"})
    assert "species, lake" in caught.value.where


def test_a_table_without_names_is_an_error():
    with pytest.raises(UsageError, match="No column"):
        columns.find(["a", "b"], {})


# ---- places and dates --------------------------------------------------------------------------


def places(decider, water="", state="", country="", huc=""):
    return decider.where.read(water, state, country, huc)


def test_a_state_is_read_as_name_code_or_coast(decider):
    for written in ("Florida", "FL", "US-FL", "florida ", "FLORIDA-WEST"):
        assert places(decider, state=written).places == ("pl:US-FL",)


def test_a_water_in_another_state_is_not_the_one_known(decider):
    there = places(decider, "Coosa River", "AL")
    away = places(decider, "Coosa River", "ME")
    assert there.places[0] == "w:Coosa-River"
    assert away.places == ("pl:US-ME",)
    assert away.notes


def test_a_unit_code_of_any_length_finds_its_water_by_prefix(decider):
    rows = decider.desk.snapshot.rows("SELECT ?w ?code { ?w op:unitCode ?code }")
    by_code = {}
    for row in rows:
        by_code.setdefault(row["code"], []).append(row["w"])
    code, (water,) = next((c, w) for c, w in sorted(by_code.items()) if len(c) == 8 and len(w) == 1)
    for written in (
        code,
        code + "0102",
        code + "010203",
        f"{int(code)}" if code[0] == "0" else code,
    ):
        assert places(decider, huc=written).places == (water,)


def test_an_unknown_water_leaves_the_state(decider):
    found = places(decider, "Nobody's Pond", "Ohio")
    assert found.places == ("pl:US-OH",)
    assert "not known" in found.notes[0]


@pytest.mark.parametrize(
    ("written", "year"),
    [
        ("1987-06-01", 1987), ("6/1/1987", 1987), ("June 1987", 1987), ("19870601", 1987),
        ("6/1/87", 0), ("", 0), ("87", 0), ("2010", 2010), ("1987-06-01T10:00:00Z", 1987),
    ],
)  # fmt: skip
def test_a_year_is_read_only_where_four_figures_stand(written, year):
    assert year_of(written) == year


# ---- lines -------------------------------------------------------------------------------------


def framed(text, form=COMMAS):
    blocks = list(framing.careful(io.BytesIO(text), form, 2))
    records = [r for b in blocks for r in b.body.decode().splitlines(keepends=False)]
    return records, [r for b in blocks for r in b.rejects], [n for b in blocks for n in b.lines]


def test_a_line_end_inside_quotes_belongs_to_the_record():
    blocks = list(framing.careful(io.BytesIO(b'a,"one\ntwo"\nb,c\n'), COMMAS, 2))
    assert blocks[0].lines == [2, 4]


def test_a_quote_never_closed_costs_its_own_line_only():
    records, rejects, lines = framed(b'a,b\nc,"open\nd,e\nf,"shut"\n')
    assert records == ["a,b", "d,e", 'f,"shut"']
    assert [(r.line, r.row) for r in rejects] == [(3, 'c,"open')]
    assert lines == [2, 4, 5]


def test_a_row_that_is_not_utf8_is_refused_byte_for_byte():
    _, rejects, _ = framed("a,é\n".encode() + b"b,\xe9\n")
    assert rejects[0].line == 3
    assert rejects[0].row == "b,é"


def test_the_quick_way_gives_up_where_it_cannot_be_sure():
    for text in (b"a\0b,c\n", b"\xe9,b\n"):
        with pytest.raises(framing.Careful):
            list(framing.quick(io.BytesIO(text), COMMAS, 2))
