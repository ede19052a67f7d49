"""A small site, built from a few provisions: its pages, its addresses, its links, its search in a browser."""

from __future__ import annotations

import json
import re
import shutil
import sys
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import pytest

import clauseway_describe
from clauseway.answers.check import check
from clauseway.answers.report import report_data
from clauseway.case.project import read_project
from clauseway.law.library import Library, load
from clauseway.law.resolve import resolve
from clauseway.text.problems import ClausewayError
from clauseway.text.source import read_yaml
from clauseway_pages.atlas import atlas_of
from clauseway_pages.build import MARKER, MOVED, build_site, pages_of
from clauseway_pages.links import faults
from support.browser import address_of, browsing
from support.rulebooks import copy_rules, small_rules

GUIDE = "# A guide\n\nSee [sensor release](provisions/ibc.sensor-release.md#manual-release).\n"


@dataclass(frozen=True)
class Small:
    """A small library with the pages made of it and the folder that they were built into."""

    library: Library
    pages: dict[str, str]
    folder: Path

    def page(self, address: str) -> str:
        return (self.folder / address).read_text(encoding="utf-8")


def pages_by_address(library: Library) -> dict[str, str]:
    return {page.address: page.title + page.summary + page.body for page in pages_of(atlas_of(library))}


def renamed(folder: Path) -> Path:
    """The rules with a former id for one provision."""
    path = folder / "codes" / "ibc" / "hardware-height.yaml"
    written = path.read_text(encoding="utf-8")
    path.write_text(written.replace("code: ibc\n", "code: ibc\naliases: [handle-height]\n", 1), encoding="utf-8")
    return folder


@pytest.fixture(scope="module")
def docs(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("docs")
    (folder / "index.md").write_text(GUIDE, encoding="utf-8")
    (folder / "guides").mkdir()
    (folder / "guides" / "designer.md").write_text("# For the designer\n", encoding="utf-8")
    return folder


@pytest.fixture(scope="module")
def small(tmp_path_factory: pytest.TempPathFactory, docs: Path) -> Small:
    library = load(shipped=renamed(copy_rules(tmp_path_factory.mktemp("rules"))))
    folder = tmp_path_factory.mktemp("built") / "site"
    build_site(library, folder, docs)
    return Small(library, pages_by_address(library), folder)


def changed(tmp_path: Path, file: str, change: Callable[[str], str]) -> Library:
    """The small rules with one file changed."""
    folder = renamed(copy_rules(tmp_path / "rules"))
    path = folder / file
    before = path.read_text(encoding="utf-8")
    after = change(before)
    assert after != before
    path.write_text(after, encoding="utf-8")
    return load(shipped=folder)


# --- pages --------------------------------------------------------------------------------------------------


def test_a_page_says_what_its_provision_asks_with_the_values_of_each_edition(small: Small) -> None:
    page = small.page("provisions/ibc.sensor-release.html")
    for said in ("Sensor release of an electrically locked egress door", "1010.1.9.8", "1010.2.12", "1010.2.11"):
        assert said in page
    assert "<b>40 in (1016 mm)</b>" in page
    assert "<b>UL 294 or UL 1034</b>" in page
    assert "Met, it contributes to its clause" in page
    assert "The button is 1015 mm above the floor; 40 in (1016 mm) to 48 in (1219 mm) is asked." in page
    assert '<section id="manual-release">' in page
    assert 'id="manual-release/height"' in page
    assert 'href="../facts/action.hold_time.html"' in page
    assert "ibc.free-egress/always-free" in page
    assert "listings: <b>UL 294</b> became <b>UL 294 or UL 1034</b>." in page
    assert "<svg" in page
    assert "memory" in page


def test_every_provision_fact_computation_and_edition_has_its_page(small: Small) -> None:
    vocabulary = small.library.vocabulary
    wanted = [f"facts/{name}.html" for name in (*vocabulary.fact_names, *vocabulary.kinds)]
    wanted += [f"provisions/ibc.{name}.html" for name in small.library.codes["ibc"].provisions]
    wanted += ["codes/ibc.html", *(f"codes/ibc-{edition}.html" for edition in small.library.codes["ibc"].editions)]
    wanted += ["computations/wire.voltage-drop.html", "index.html", "search.html"]
    assert [address for address in wanted if not (small.folder / address).is_file()] == []


def test_an_unknown_fact_stays_undecided_on_its_page(small: Small) -> None:
    page = small.page("provisions/ibc.sensor-release.html")
    assert "Not decided whether the lock is listed to UL 294 or UL 1034: not known lock.listings" in page


def test_a_computation_has_its_formula_an_answered_example_and_a_plot(small: Small) -> None:
    page = small.page("computations/wire.voltage-drop.html")
    assert "$ clauseway compute wire.voltage-drop" in page
    assert "Numbers put in" in page
    assert '<svg class="plot"' in page


def test_nothing_that_a_rule_says_becomes_markup(tmp_path: Path) -> None:
    nasty = "<script>alert(1)</script>"
    library = changed(
        tmp_path,
        "codes/ibc/hardware-height.yaml",
        lambda text: re.sub(r"^title: .*$", f'title: "{nasty}"', text, flags=re.M),
    )
    pages = pages_by_address(library)
    page = pages["provisions/ibc.hardware-height.html"].removeprefix(nasty)
    assert nasty not in page
    listed = pages["codes/ibc.html"]
    assert nasty not in listed
    assert "&lt;script&gt;alert(1)&lt;/script&gt;" in listed


LAW = {
    "adoptions.yaml": """\
jurisdiction: XX-A
name: An invented city
adoptions:
  city-1:
    title: City code, first edition
    code: ibc@2021
    layers: [xx-1]
    from: 2022-01-01
    until: 2025-01-01
    cite: XX 12
    basis: memory
clauses:
  vaults: {title: Vault doors, cite: XX 13-1, basis: memory, standing: needs-human, note: Ask the city.}
""",
    "xx-1.yaml": """\
layer: xx-1
title: City amendments
code: ibc
editions: [2021]
changes:
  - {at: sensor-release/parameters/height_max, was: 48 in, set: 46 in, cite: XX 12-3, direction: stricter}
  - at: sensor-release/conditions
    add:
      lamp:
        require: lock.fail_mode == lock.fail_mode
        says: {asks: a lamp <shows> the release, met: It does., unmet: No lamp shows it.}
        remedy: Fit a lamp.
    cite: XX 12-4
    direction: stricter
""",
    "provisions/city-door.yaml": """\
id: city-door
code: ibc
layer: xx-1
cite: XX 14-1
kind: requirement
title: Doors of the city
about: An invented duty.
subject: opening
sections: {2021: "99.1"}
section_basis: {2021: memory}
basis: {2021: memory}
conditions:
  mark:
    require: opening.required_accessible
    says: {asks: the door is marked, met: It is marked., unmet: It is not marked.}
    remedy: Mark the door.
""",
}


def test_law_stands_before_and_after_on_its_own_page_and_on_that_of_the_provision(tmp_path: Path) -> None:
    for name, written in LAW.items():
        file = tmp_path / "jurisdictions" / "XX-A" / name
        file.parent.mkdir(parents=True, exist_ok=True)
        file.write_text(written, encoding="utf-8")
    pages = pages_by_address(load([tmp_path], shipped=small_rules()))
    city = pages["jurisdictions/XX-A.html"]
    for said in ("City code, first edition", "from 2022-01-01 until 2025-01-01", "Vault doors", "Ask the city."):
        assert said in city
    assert 'href="../provisions/ibc.sensor-release.html#lamp"' in city
    assert 'href="../provisions/ibc.city-door.html"' in city
    assert pages["jurisdictions/index.html"].count("An invented city") == 1
    amended = pages["provisions/ibc.sensor-release.html"]
    for page in (city, amended):
        assert "<code>48 in</code></td><td><code>46 in</code></td><td>XX 12-3" in page
    assert '<section id="lamp">' in amended
    assert "a lamp &lt;shows&gt; the release" in amended
    assert "the door is marked" in pages["provisions/ibc.city-door.html"]


# --- addresses ----------------------------------------------------------------------------------------------


def test_a_change_of_a_rule_changes_the_pages_that_speak_of_it_and_no_other(small: Small, tmp_path: Path) -> None:
    library = changed(
        tmp_path,
        "codes/ibc/sensor-release.yaml",
        lambda text: text.replace("says:", "says: # a comment", 1).replace(
            "asks: the lock is released when it loses its power", "asks: the lock lets go when it loses its power"
        ),
    )
    after = pages_by_address(library)
    assert set(after) == set(small.pages)
    assert {name for name in after if after[name] != small.pages[name]} == {"provisions/ibc.sensor-release.html"}


def test_a_change_of_a_fact_changes_its_page_and_those_that_name_its_meaning(small: Small, tmp_path: Path) -> None:
    about = small.library.vocabulary.kinds["lock"].facts["listings"].about
    library = changed(tmp_path, "facts/lock.yaml", lambda text: text.replace(about, f"{about} Really", 1))
    after = pages_by_address(library)
    different = {name for name in after if after[name] != small.pages[name]}
    assert {"facts/lock.html", "facts/lock.listings.html"} <= different
    assert all("lock.listings" in after[name] or name == "facts/lock.html" for name in different)


def test_a_former_id_leads_to_the_page_of_today(small: Small) -> None:
    stub = small.page("provisions/ibc.handle-height.html")
    assert 'content="0; url=ibc.hardware-height.html"' in stub
    assert 'href="ibc.hardware-height.html"' in stub
    assert "Formerly <code>ibc.handle-height</code>" in small.page("provisions/ibc.hardware-height.html")


def test_a_guide_is_found_at_its_former_address(small: Small) -> None:
    assert 'content="0; url=guides/designer.html"' in small.page("designer.html")
    docs = Path(__file__).parents[2] / "docs"
    assert [new for new in MOVED.values() if not (docs / new).with_suffix(".md").is_file()] == []
    assert [old for old in MOVED if (docs / old).with_suffix(".md").exists()] == []
    assert not (small.folder / "auditor.html").exists(), "a guide that is not there has no former address"


@pytest.mark.parametrize("complete", [True, False], ids=["complete", "open"])
def test_a_finding_names_the_place_that_its_page_has(small: Small, complete: bool, tmp_path: Path) -> None:
    rulebook = resolve(small.library, ["ibc@2021"])
    written = (small_rules() / "examples" / "sensor-magnet.yaml").read_text(encoding="utf-8")
    file = tmp_path / "door.yaml"
    file.write_text(written if complete else written.replace("    complete: all-below\n", ""), encoding="utf-8")
    data = report_data(check(rulebook, read_project(read_yaml(file), rulebook.vocabulary)))
    (opening,) = data["openings"]
    named = [each["page"] for each in (*opening["findings"], *opening["arrangements"])]
    assert "provisions/ibc.sensor-release.html#manual-release" in named
    assert ("provisions/described.locks.html#complete" in named) is not complete
    for page in named:
        address, _, place = page.partition("#")
        assert not place or f'id="{place}"' in small.page(address)


# --- the build ----------------------------------------------------------------------------------------------


def test_a_wrong_example_stops_the_build(tmp_path: Path) -> None:
    library = changed(
        tmp_path,
        "codes/ibc/sensor-release.yaml",
        lambda text: text.replace(
            "openings.d.devices.button.height: 1220 mm", "openings.d.devices.button.height: 42 in"
        ),
    )
    with pytest.raises(ClausewayError, match=r"manual-release::unmet-\d+ is met"):
        pages_by_address(library)


def test_dead_links_and_requests_to_elsewhere_are_faults(small: Small, tmp_path: Path) -> None:
    assert list(faults(small.folder)) == []
    site = tmp_path / "site"
    shutil.copytree(small.folder / "codes", site / "codes")
    (site / "x.html").write_text(
        '<p id="a"></p><p id="a"></p><a href="y.html"></a><a href="#b"></a><img src="https://e.org/i.png">'
        '<link href="//e.org/s.css"><a href="https://e.org/">fine</a><a href="codes/ibc.html#nowhere"></a>',
        encoding="utf-8",
    )
    told = "\n".join(str(problem) for problem in faults(site) if str(problem).startswith("x.html"))
    for said in (
        "#a is there twice",
        "y.html, which",
        "#b; x.html",
        "loads https://e.org/i.png",
        "loads //e.org/s.css",
    ):
        assert said in told
    assert "ibc.html#nowhere" in told
    assert "https://e.org/," not in told
    assert len(told.split("expected:")) == 7


def test_the_page_to_describe_a_door_stands_in_the_site(small: Small, tmp_path: Path, docs: Path) -> None:
    """With the real files of the page, whose links are looked at like all others."""

    def desk(folder: Path) -> None:
        shutil.copytree(Path(clauseway_describe.__file__).parent / "static", folder)

    site = tmp_path / "site"
    build_site(small.library, site, docs, desk)
    assert 'href="desk/index.html"' in (site / "index.html").read_text(encoding="utf-8")
    assert 'href="../desk/index.html"' in (site / "facts" / "lock.html").read_text(encoding="utf-8")
    assert "desk/index.html" in (site / "search-index.js").read_text(encoding="utf-8")
    assert (site / "desk" / "desk.js").is_file()
    assert "desk/" not in small.page("index.html")


def test_a_folder_that_holds_something_else_is_left_alone(small: Small, tmp_path: Path, docs: Path) -> None:
    (tmp_path / "mine.txt").write_text("mine", encoding="utf-8")
    with pytest.raises(ClausewayError, match="nothing is overwritten"):
        build_site(small.library, tmp_path, docs)
    assert (tmp_path / "mine.txt").read_text(encoding="utf-8") == "mine"


def test_without_mkdocs_it_says_what_to_install(
    small: Small, tmp_path: Path, docs: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setitem(sys.modules, "mkdocs.commands.build", None)
    with pytest.raises(ClausewayError, match=r"clauseway\[site\]"):
        build_site(small.library, tmp_path / "site", docs)
    assert not (tmp_path / "site").exists()


def test_a_dead_link_in_a_guide_stops_the_build_and_leaves_the_older_site(small: Small, tmp_path: Path) -> None:
    (tmp_path / "docs").mkdir()
    (tmp_path / "docs" / "index.md").write_text("# A\n\n[gone](provisions/ibc.gone.md)\n", encoding="utf-8")
    site = tmp_path / "site"
    site.mkdir()
    (site / MARKER).write_text("", encoding="utf-8")
    with pytest.raises(ClausewayError, match=r"ibc\.gone"):
        build_site(small.library, site, tmp_path / "docs")
    assert [path.name for path in tmp_path.iterdir() if path.name.startswith(".")] == []
    assert (site / MARKER).is_file()


# --- in a browser -------------------------------------------------------------------------------------------

SEARCHES = {
    "1010.2.12": "provisions/ibc.sensor-release.html",
    "IBC 2021 1010.2.12": "codes/ibc-2021.html#1010.2.12",
    "maglock": "provisions/ibc.sensor-release.html",
    "request to exit": "facts/device.kind.html",
    "hold time": "facts/action.hold_time.html",
    "lock.listings": "facts/lock.listings.html",
    "sensor release": "provisions/ibc.sensor-release.html",
    "voltage drop": "computations/wire.voltage-drop.html",
    "hardwear height": "provisions/ibc.hardware-height.html",
    "How high may the handle be?": "provisions/ibc.hardware-height.html",
}
"""What people type, and what must be among the first five found."""


def test_the_search_finds_sections_synonyms_and_facts_and_asks_nothing_from_outside(small: Small) -> None:
    with browsing(390, 844) as (page, outside):
        page.goto(address_of(small.folder / "provisions" / "ibc.sensor-release.html"))
        assert page.evaluate("document.documentElement.scrollWidth <= document.documentElement.clientWidth")
        page.fill("#find", "1010.2.12")
        page.press("#find", "Enter")
        page.wait_for_selector("#found a")
        assert "search.html?q=1010.2.12" in page.url
        missed = {}
        for typed, wanted in SEARCHES.items():
            page.fill("#find", typed)
            found = page.eval_on_selector_all("#found a", "links => links.map(link => link.getAttribute('href'))")
            if wanted not in found[:5]:
                missed[typed] = found[:5]
        assert missed == {}
        page.fill("#find", "zzzzqqq")
        assert "Nothing found" in page.inner_text("#count")
        page.fill("#find", "sensor release")
        page.click("#found a >> nth=0")
        assert page.inner_text("h1")
        assert outside == []


def test_the_index_is_data_and_no_markup(small: Small) -> None:
    text = small.page("search-index.js")
    assert text.startswith("window.clausewaySearch([\n")
    rows = json.loads(text.removeprefix("window.clausewaySearch(").removesuffix(");\n"))
    assert len({row[0] for row in rows}) > 400
    assert "<" not in text
