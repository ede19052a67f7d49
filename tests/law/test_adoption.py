"""Which law is in force where and when, and every way in which adoptions are refused."""

from __future__ import annotations

import errno
import sys
from pathlib import Path

import pytest

from clauseway.answers.governing import Governing, governing
from clauseway.law.adoption import Asked, jurisdiction_called, readings
from clauseway.law.library import Library, load
from clauseway.law.resolve import resolve
from clauseway.text.problems import ClausewayError
from support.places import CITY, CITY_LAYER, NATION, STATE, utopia, write

HEIGHT = "ibc.sensor-release/height_max"


@pytest.fixture(scope="module")
def library(tmp_path_factory: pytest.TempPathFactory) -> Library:
    return load([utopia(tmp_path_factory.mktemp("utopia"))])


def asked(on: str = "", **more: str) -> Asked:
    dates = {
        name.replace("_", "-"): day for name, day in more.items() if name in ("permit_application", "permit_issue")
    }
    return Asked({**dates, **({"today": on} if on else {})}, more.get("known", ""), more.get("choose", ""))


def law(library: Library, place: str, on: str = "", **more: str) -> Governing:
    (found,) = governing(library, place, asked(on, **more))
    return found


def refused(tmp_path: Path, **changed: str) -> str:
    with pytest.raises(ClausewayError) as caught:
        load([utopia(tmp_path, **changed)])
    return str(caught.value)


def test_the_date_picks_the_edition_and_the_layers_stack(library: Library) -> None:
    assert law(library, "XX-A", "2020-05-01").codes == ("ada@2010", "ibc@2018")
    state = law(library, "XX-A", "2024-05-01")
    assert (state.codes, state.rulebook.layers) == (("ada@2010", "ibc@2021"), ("north-2021",))
    assert state.rulebook.parameters[HEIGHT].printed == ("46 in",)
    city = law(library, "XXABC", "2024-05-01")
    assert city.rulebook.layers == ("north-2021", "harbour")
    parameter = city.rulebook.parameters[HEIGHT]
    assert parameter.printed == ("45 in",)
    assert [(c.layer, c.was, c.now) for c in parameter.history] == [
        ("north-2021", "48 in", "46 in"),
        ("harbour", "46 in", "45 in"),
    ]


@pytest.mark.parametrize(("on", "printed"), [("2024-12-31", "40 in"), ("2025-01-01", "41 in")])
def test_a_change_has_its_own_first_day(library: Library, on: str, printed: str) -> None:
    assert law(library, "XXABC", on).rulebook.parameters["ibc.sensor-release/height_min"].printed[0] == printed


def test_half_open_days(library: Library) -> None:
    assert law(library, "XX-A", "2024-03-14").codes[1] == "ibc@2018"
    assert law(library, "XX-A", "2024-03-15").codes[1] == "ibc@2021"


def test_dates_that_moved_are_seen_as_they_were_known(library: Library) -> None:
    assert law(library, "XX-A", "2023-08-01", known="2022-01-01").codes[1] == "ibc@2021"
    assert law(library, "XX-A", "2023-08-01", known="2023-07-01").codes[1] == "ibc@2018"
    assert law(library, "XX-A", "2023-11-01", known="2023-07-01").codes[1] == "ibc@2021"
    assert law(library, "XX-A", "2023-11-01").codes[1] == "ibc@2018"


def test_the_law_says_which_date_of_the_project_decides(library: Library) -> None:
    late = law(library, "XX-A", "2024-05-01", permit_application="2024-01-10")
    assert late.codes == ("ada@2010", "ibc@2018")
    by = {each.adoption.name: (each.adoption.decided_by, each.day) for each in late.under.adopted}
    assert by == {
        "XX/access": ("permit-issue", "2024-05-01"),
        "XX-A/nbc-2018": ("permit-application", "2024-01-10"),
    }
    assert late.under.not_encoded[0][1].cite == "NBC 10.9"


def test_a_deciding_date_that_is_not_known_is_asked_for(library: Library) -> None:
    with pytest.raises(ClausewayError, match="permit-issue, which is not given"):
        readings(library, jurisdiction_called(library, "XX-A"), asked(permit_application="2024-01-10"))


def test_a_date_with_no_adoption_says_what_there_is(library: Library) -> None:
    with pytest.raises(ClausewayError) as caught:
        law(library, "XX-A", "2015-01-01")
    assert "XX-A has no edition of ibc that is encoded in force on 2015-01-01" in str(caught.value)
    assert "nbc-2018 from 2019-01-01" in str(caught.value)
    assert "XX-A/adoptions.yaml" in str(caught.value)


def test_an_unknown_jurisdiction_offers_the_nearest(library: Library) -> None:
    with pytest.raises(ClausewayError, match="did you mean: XXABC"):
        jurisdiction_called(library, "XXABD")
    with pytest.raises(ClausewayError, match="did you mean: XX-A"):
        jurisdiction_called(library, "Nothland")
    assert jurisdiction_called(library, "xx abc").name == "Harbour City"


def test_what_is_proposed_never_loads(library: Library) -> None:
    assert law(library, "XX-A", "2030-01-01").codes[1] == "ibc@2021"


CHOICE = STATE.replace("until: nbc-2021", "until: 2024-09-01").replace(
    "    layers: [north-2021]", "    layers: [north-2021]\n    choice: [nbc-2018]"
)


def test_the_applicant_may_choose_and_both_readings_stand(tmp_path: Path) -> None:
    found = load([utopia(tmp_path, state=CHOICE)])
    both = governing(found, "XX-A", asked("2024-05-01"))
    assert [(each.under.choice, each.codes[1]) for each in both] == [
        ("nbc-2018", "ibc@2018"),
        ("nbc-2021", "ibc@2021"),
    ]
    assert law(found, "XX-A", "2024-05-01", choose="nbc-2018").codes[1] == "ibc@2018"
    assert law(found, "XX-A", "2024-09-01").under.choice == ""
    with pytest.raises(ClausewayError, match="did you mean: nbc-2018"):
        law(found, "XX-A", "2024-05-01", choose="nbc-2019")


def test_two_editions_at_once_without_a_choice_are_refused(tmp_path: Path) -> None:
    found = load([utopia(tmp_path, state=STATE.replace("until: nbc-2021", "until: 2024-09-01"))])
    with pytest.raises(ClausewayError) as caught:
        law(found, "XX-A", "2024-05-01")
    assert "nbc-2021 and nbc-2018" in str(caught.value)
    assert str(caught.value).count("XX-A/adoptions.yaml:") == 2


def test_a_city_may_replace_the_base(tmp_path: Path) -> None:
    city = CITY.replace("follows: parent, of: ibc, layers: [harbour]", "code: ibc@2015, layers: []")
    found = load([utopia(tmp_path, city=city, harbour=CITY_LAYER.replace("code: ibc", "code: ibc\nstatus: draft"))])
    assert law(found, "XXABC", "2024-05-01").codes == ("ada@2010", "ibc@2015")


def test_a_region_is_adopted_by_reference(tmp_path: Path) -> None:
    root = utopia(tmp_path, city=CITY.replace("[harbour]", "[valley, harbour]"))
    region = "layer: valley\ncode: ibc\nbasis: published\nchanges:\n  - {at: sensor-release, restate: x, cite: V 1}\n"
    write(
        root,
        {
            "XX-A-x-valley/adoptions.yaml": "jurisdiction: XX-A-x-valley\nname: Valley council\nparent: XX-A\n",
            "XX-A-x-valley/valley.yaml": region,
        },
    )
    assert law(load([root]), "XXABC", "2024-05-01").rulebook.layers == ("north-2021", "valley", "harbour")


def test_two_authorities_are_two_rulebooks(tmp_path: Path) -> None:
    harbour = CITY_LAYER + (
        "  - {at: sensor-release/parameters/hold_min, set: 20 s, was: 30 s, cite: Ord. 3, authority: fire}\n"
        "  - {at: sensor-release/parameters/hold_min, set: 25 s, was: 30 s, cite: Ord. 4, authority: works}\n"
    )
    city = CITY.replace("adoptions:", "authorities: {fire: Fire brigade, works: Board of works}\nadoptions:")
    found = load([utopia(tmp_path, city=city, harbour=harbour)])
    both = governing(found, "XXABC", asked("2024-05-01"))
    held = {each.under.authority: each.rulebook.parameters["ibc.sensor-release/hold_min"].printed for each in both}
    assert held == {"fire": ("20 s",), "works": ("25 s",)}
    one = Asked({"today": "2024-05-01"}, authorities=("works",))
    assert [each.under.authority for each in governing(found, "XXABC", one)] == [""]
    with pytest.raises(ClausewayError, match="did you mean: works"):
        governing(found, "XXABC", Asked({"today": "2024-05-01"}, authorities=("work",)))


def test_a_ruling_binds_its_own_site_alone(tmp_path: Path) -> None:
    harbour = CITY_LAYER.replace("code: ibc", "code: ibc\nbinding: ruling\nsite: 1 Quay")
    found = load([utopia(tmp_path, harbour=harbour)])
    assert law(found, "XXABC", "2024-05-01").rulebook.parameters[HEIGHT].printed == ("46 in",)
    (there,) = governing(found, "XXABC", Asked({"today": "2024-05-01"}, site="1 Quay"))
    assert there.rulebook.parameters[HEIGHT].printed == ("45 in",)


def test_two_layers_of_one_rank_on_one_item_name_both_files(tmp_path: Path) -> None:
    root = utopia(tmp_path, city=CITY.replace("[harbour]", "[harbour, quay]"))
    write(root, {"XXABC/quay.yaml": CITY_LAYER.replace("layer: harbour", "layer: quay")})
    with pytest.raises(ClausewayError) as caught:
        law(load([root]), "XXABC", "2024-05-01")
    assert "is changed twice in XXABC" in str(caught.value)
    assert "harbour.yaml:5" in str(caught.value)
    assert "quay.yaml:5" in str(caught.value)


def test_a_later_change_of_one_layer_builds_on_the_earlier(tmp_path: Path) -> None:
    harbour = (
        CITY_LAYER
        + "  - {at: sensor-release/parameters/height_max, set: 44 in, was: 45 in, cite: Ord. 9, from: 2026-01-01}\n"
    )
    found = load([utopia(tmp_path, harbour=harbour)])
    assert law(found, "XXABC", "2025-05-01").rulebook.parameters[HEIGHT].printed == ("45 in",)
    assert law(found, "XXABC", "2026-05-01").rulebook.parameters[HEIGHT].printed == ("44 in",)


@pytest.mark.parametrize(
    ("file", "old", "new", "message"),
    [
        ("city", "parent: XX-A", "parent: XX-B", "no jurisdiction XX-B"),
        ("nation", "name: Utopia", "name: Utopia\nparent: XXABC", "a cycle of parents"),
        ("city", "[harbour]", "[habour]", "did you mean: harbour?"),
        ("city", "layers: [harbour]", "layers: []", "no adoption names the layer harbour"),
        ("city", "from: 2020-01-01", "from: 2020-02-30", "from 2020-02-30"),
        ("city", "from: 2020-01-01", "from: 2020-01-01, until: 2019-01-01", "is not after from"),
        ("city", "follows: parent, of: ibc", "code: ibc@2020", "ibc has no edition 2020"),
        ("city", "follows: parent, of: ibc", "code: icb@2021", "no code icb"),
        ("city", "basis: published", "basis: hearsay", "no source hearsay"),
        ("city", "cite: Ord. 1", "cite: an ordinance", "`an ordinance`"),
        ("harbour", "cite: Ord. 1", "cite: by-law", "a law and the number in it"),
        ("harbour", "layer: harbour", "layer: harbour\nstatus: draft", "is draft"),
        ("harbour", "layer: harbour", "layer: harbour\nauthority: fire", "no authority fire in XXABC"),
        ("state", "until: nbc-2021", "until: nbc-2022", "did you mean: nbc-2021?"),
        ("state", "layers: [north-2018]", "layers: [north-2021]", "amends ibc 2021"),
        ("state", "name: Northland", "name: Northland\nlocal_amendments: none", "lets nobody below it amend"),
        ("state", "name: Northland", "name: Northland\nlocal_amendments: stricter", "only stricter"),
        ("state", "name: Northland", "name: Northland\nlocal_amendments: by-ordinance", "only as an ordinance"),
        ("state", "jurisdiction: XX-A", "jurisdiction: XX-B", "XX-B in the folder XX-A"),
    ],
)
def test_what_does_not_fit_together_stops_everything(
    tmp_path: Path, file: str, old: str, new: str, message: str
) -> None:
    whole = {"nation": NATION, "state": STATE, "city": CITY, "harbour": CITY_LAYER}[file]
    assert old in whole
    text = refused(tmp_path, **{file: whole.replace(old, new, 1)})
    assert message in text
    assert f"{tmp_path}/jurisdictions/" in text


def test_a_cycle_of_adoptions_is_printed(tmp_path: Path) -> None:
    state = STATE.replace("    code: ibc@2018\n", "    follows: XXABC/city\n")
    city = CITY.replace("follows: parent, of: ibc", "follows: XX-A/nbc-2018")
    assert "a cycle of adoptions: XX-A/nbc-2018 -> XXABC/city -> XX-A/nbc-2018" in refused(
        tmp_path, state=state, city=city
    )


def test_an_amendment_to_an_edition_that_is_not_adopted(tmp_path: Path) -> None:
    found = load([utopia(tmp_path, harbour=CITY_LAYER.replace("code: ibc", "code: ibc\neditions: [2024]"))])
    with pytest.raises(ClausewayError, match="harbour does not speak of ibc@2021"):
        law(found, "XXABC", "2024-05-01")


def test_a_broken_layer_stops_the_check(tmp_path: Path) -> None:
    found = load([utopia(tmp_path, harbour=CITY_LAYER.replace("was: 46 in", "was: 44 in"))])
    with pytest.raises(ClausewayError, match="was says 44 in"):
        law(found, "XXABC", "2024-05-01")


@pytest.mark.parametrize("name", ["XXABC/more.yml", "XXABC/provision/x.yaml", "XXABC/harbour.yaml.bak"])
def test_a_file_that_would_not_be_read_is_refused(tmp_path: Path, name: str) -> None:
    root = write(utopia(tmp_path), {name: "x: 1\n"})
    with pytest.raises(ClausewayError, match="this is not read"):
        load([root])


@pytest.mark.parametrize("where", ["", "jurisdictions", "jurisdictions/XXABC"])
def test_a_folder_without_permission_is_named(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, where: str) -> None:
    root = utopia(tmp_path)
    closed = root / where
    real = Path.iterdir

    def iterdir(self: Path) -> object:
        if self == closed:
            raise PermissionError(errno.EACCES, "Permission denied")
        return real(self)

    monkeypatch.setattr(Path, "iterdir", iterdir)
    with pytest.raises(ClausewayError) as caught:
        load([root])
    assert str(closed) in str(caught.value)
    assert "Permission denied" in str(caught.value)


@pytest.mark.skipif(sys.platform != "linux", reason="names of files that are no text")
def test_a_folder_whose_name_is_no_text_is_read(tmp_path: Path) -> None:
    inner = tmp_path / "mine\udcff"
    inner.mkdir()
    root = utopia(inner)
    rulebook = governing(load([root]), "XXABC", asked("2024-05-01"))[0].rulebook
    assert rulebook.digest.startswith("sha256:")
    assert r"mine\\udcff" in rulebook.json


def test_a_draft_is_not_law(tmp_path: Path) -> None:
    draft = CITY_LAYER.replace("layer: harbour", "layer: harbour\nstatus: proposed")
    root = utopia(tmp_path, city=CITY.replace("layers: [harbour]", "layers: []"), harbour=draft)
    with pytest.raises(ClausewayError, match="is proposed: it is not law"):
        resolve(load([root]), ["ibc@2021"], ["harbour"])
    found = governing(load([root]), "XXABC", asked("2024-05-01"), ["harbour"], drafts=True)
    assert found[0].rulebook.parameters[HEIGHT].printed == ("45 in",)


def test_before_a_law_that_had_none_before_it_the_rest_stands(tmp_path: Path) -> None:
    first = NATION.replace("basis: memory}", "basis: memory, nothing_before: true}")
    library = load([utopia(tmp_path / "a", nation=first)])
    assert law(library, "XX-A", "2024-05-01", permit_issue="2010-01-01").codes == ("ibc@2021",)
    assert law(library, "XX-A", "2024-05-01", permit_issue="2012-03-15").codes == ("ada@2010", "ibc@2021")
    with pytest.raises(ClausewayError, match="no edition of ada that is encoded"):
        law(load([utopia(tmp_path / "b")]), "XX-A", "2024-05-01", permit_issue="2010-01-01")
    with pytest.raises(ClausewayError, match="XX has no edition of any code"):
        law(library, "XX", "2010-01-01")
