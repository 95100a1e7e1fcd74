"""The reference pages say what the code says: commands, errors, formulas, findings, routes."""

import importlib.util
import re
from collections import defaultdict
from pathlib import Path
from types import ModuleType

import pytest
from fastapi.routing import APIRoute

from docs.finding_codes import uses
from docs.manual import PAGES, ROOT, blocks, code_words, section, table_rows, text_of, told
from zonule import errors
from zonule.cli.main import app
from zonule.cli.output import OUR_ERROR
from zonule.errors import ZonuleError
from zonule.science.lens_power.formulas import FORMULAS
from zonule.web import app as web_app

COMMANDS = [command.name or "" for command in app.registered_commands]
FAMILY = [
    ZonuleError,
    *(one for one in vars(errors).values() if isinstance(one, type) and one is not ZonuleError),
]


def tool(name: str) -> ModuleType:
    """A script of tools/ as a module."""
    spec = importlib.util.spec_from_file_location(name, ROOT / "tools" / f"{name}.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def test_the_page_of_commands_is_the_one_that_the_commands_write() -> None:
    assert text_of("docs/reference/cli.md") == tool("write_cli_page").page(), "run make docs"


@pytest.mark.parametrize("command", COMMANDS)
def test_every_command_has_its_section_with_an_example_of_it(command: str) -> None:
    assert f"zonule {command}" in section("docs/reference/cli.md", f"zonule {command}")
    assert any(block.startswith(f"zonule {command}") for block in blocks("docs/reference/cli.md", "sh"))


@pytest.mark.parametrize("page", PAGES, ids=told)
def test_a_command_or_option_named_on_a_page_exists(page: Path) -> None:
    text = "\n".join([*re.findall(r"`(zonule [^`]+)`", text_of(told(page))), *blocks(told(page), "sh")])
    calls = re.findall(r"^.*\bzonule ((?!-)\S+)(.*)$", text, flags=re.MULTILINE)
    known = text_of("docs/reference/cli.md")
    assert {name for name, _ in calls} - {*COMMANDS, "..."} == set()
    options = {option for name, rest in calls for option in re.findall(r"--[a-z-]+", rest)}
    assert {option for option in options - {"--help"} if f"`{option}`" not in known} == set()


def test_every_error_is_on_its_page_with_its_family_and_default_message() -> None:
    rows = {cells[0].strip("`"): cells for cells in table_rows("docs/reference/errors.md") if len(cells) == 4}
    assert set(rows) == {one.__name__ for one in FAMILY}
    for one in FAMILY:
        above = "-" if one is ZonuleError else one.__mro__[1].__name__
        assert rows[one.__name__][1].strip("`") == above
        assert rows[one.__name__][2] == (one.__doc__ or "").strip().partition("\n")[0]


def test_what_the_browser_answers_is_on_the_page() -> None:
    rows = list(table_rows("docs/reference/errors.md", "What the browser answers"))
    assert {cells[0].strip("`"): int(cells[1]) for cells in rows} == {
        family.__name__: status for family, status in web_app.STATUS.items()
    }


def test_the_page_of_commands_knows_every_exit_status() -> None:
    listed = {cells[0] for cells in table_rows("docs/reference/cli.md") if len(cells) == 2}
    assert listed == {"0", "2", "3", str(OUR_ERROR)}


def test_every_formula_is_on_its_page_as_the_table_has_it() -> None:
    rows = {
        cells[0].strip("`"): cells for cells in table_rows("docs/reference/formulas.md") if len(cells) == 8
    }
    assert set(rows) == set(FORMULAS)
    for key, formula in FORMULAS.items():
        _, name, constants, depth, converted, _, source, status = rows[key]
        assert (name, source, status) == (formula.name, formula.source, formula.status)
        assert tuple(code_words(constants)) == formula.constant_names
        assert depth == ("needed" if "anterior_chamber_depth_mm" in formula.reads else "not needed")
        assert converted == ("yes" if formula.converted_fit_for_odds else "no")


def documented_findings() -> dict[str, list[str]]:
    rows = [cells for cells in table_rows("docs/reference/findings.md") if cells[0].startswith("`")]
    assert len({cells[0] for cells in rows}) == len(rows), "a code stands twice"
    return {cells[0].strip("`"): cells for cells in rows}


def test_every_finding_in_the_source_is_on_its_page_and_none_is_invented() -> None:
    assert set(documented_findings()) == {use.code for use in uses()}


def test_every_finding_has_the_severity_and_authority_of_the_source() -> None:
    severities: dict[str, set[str]] = defaultdict(set)
    authorities: dict[str, set[str]] = defaultdict(set)
    for use in uses():
        severities[use.code].add(use.severity or "?")
        authorities[use.code].add(use.source or "?")
    wrong = []
    for code, (_, severity, meaning, authority) in documented_findings().items():
        stated = {one.strip() for one in authority.split(";")}
        open_ended = "?" in authorities[code]
        agrees = authorities[code] - {"?"} <= stated if open_ended else stated == authorities[code]
        if set(severity.split(", ")) != severities[code] or not agrees or not meaning.endswith((".", "?")):
            wrong.append((code, severity, severities[code], authority, authorities[code]))
    assert wrong == []


def test_the_reader_of_the_source_finds_codes_of_every_kind() -> None:
    found = {use.code: use.severity for use in uses()}
    assert found["target-missing"] == "blocking"
    assert found["imaginary-branch"] == "warning"
    assert found["tear-film-not-seen"] == "warning"
    assert found["needs-chamber-depth"] == "note"
    assert found["missing-key"] == "blocking"


def test_every_route_is_on_its_page_and_none_is_invented() -> None:
    routers = [module.router for module in web_app.MODULES]
    served = {
        (method, route.path.replace(":path}", "}"))
        for router in routers
        for route in router.routes
        if isinstance(route, APIRoute)
        for method in route.methods or ()
    }
    listed = {(cells[0], cells[1].strip("`")) for cells in table_rows("docs/reference/routes.md")}
    outside_the_routers = {("GET", "/cases/{key}"), ("GET", "/static/...")}
    assert listed - outside_the_routers == served
    assert outside_the_routers <= listed
