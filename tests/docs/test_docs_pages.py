"""Pages hang together: links lead somewhere, pictures exist, and nothing of one machine is on them."""

import re
from pathlib import Path

import pytest

from docs.manual import DOCS, PAGES, ROOT, links, prose, table_rows, text_of, told
from zonule.case.caution import CAUTION

LARGEST_PICTURES_BYTES = 1_300_000
NOT_OF_A_MACHINE = re.compile(r"(?<![\w.~])/(?:home|root|tmp|work|Users|var|opt|usr)/|[A-Z]:\\")
ADDRESS = re.compile(r"\b\w+://([\w.:-]+)")
OF_THIS_MACHINE = {"127.0.0.1:8017", "127.0.0.1:8018"}
PROMISES = re.compile(
    r"\b(?:safe|safer|safely|certified|clinically validated|state.of.the.art|cutting.edge|seamless\w*"
    r"|powerful|revolutionary|world.class|best.in.class)\b",
    flags=re.IGNORECASE,
)


def anchors(page: Path) -> set[str]:
    """The anchors that the headings of a page get."""
    headings = re.findall(r"^#+ (.+)$", page.read_text(encoding="utf-8"), flags=re.MULTILINE)
    return {re.sub(r"[^\w\- ]", "", heading.lower()).replace(" ", "-") for heading in headings}


def leads_somewhere(page: Path, link: str) -> bool:
    """Whether a link of a page points at a file of the project, and at a heading there if it names one."""
    path, _, anchor = link.partition("#")
    target = (page.parent / path).resolve() if path else page
    if not target.is_relative_to(ROOT) or not target.exists():
        return False
    return not anchor or anchor in anchors(target)


@pytest.mark.parametrize("page", PAGES, ids=told)
def test_every_link_of_a_page_leads_somewhere(page: Path) -> None:
    assert [link for link in links(told(page)) if not leads_somewhere(page, link)] == []


def test_every_page_can_be_reached_from_the_readme() -> None:
    reached, waiting = set(), [ROOT / "README.md"]
    while waiting:
        page = waiting.pop()
        if page not in reached:
            reached.add(page)
            targets = ((page.parent / link.partition("#")[0]).resolve() for link in links(told(page)))
            waiting += [target for target in targets if target.suffix == ".md"]
    assert set(PAGES) - reached == set()


def test_every_picture_is_shown_somewhere_and_all_are_small() -> None:
    pictures = set((DOCS / "pictures").glob("*.png"))
    shown = {(page.parent / link).resolve() for page in PAGES for link in links(told(page))}
    assert pictures - shown == set()
    assert sum(path.stat().st_size for path in pictures) <= LARGEST_PICTURES_BYTES


@pytest.mark.parametrize("page", PAGES, ids=told)
def test_a_page_holds_no_path_of_a_machine_and_no_address_elsewhere(page: Path) -> None:
    text = text_of(told(page))
    assert NOT_OF_A_MACHINE.findall(text) == []
    assert set(ADDRESS.findall(text)) - OF_THIS_MACHINE == set()


@pytest.mark.parametrize("page", PAGES, ids=told)
def test_a_page_promises_nothing_that_nobody_has_shown(page: Path) -> None:
    assert PROMISES.findall(prose(told(page))) == []


def test_the_readme_says_the_caution_in_the_words_of_the_program() -> None:
    _, found, rest = text_of("README.md").partition("<!-- caution -->\n")
    said = rest.partition("<!-- end of caution -->")[0]
    assert found
    assert " ".join(said.split()) == CAUTION


def test_the_readme_opens_with_the_job_then_one_picture_then_two_commands() -> None:
    paragraphs = text_of("README.md").split("\n\n")
    assert paragraphs[0] == "# zonule"
    for stage in ("measure", "plan", "operate", "review", "learn"):
        assert f"**{stage}**" in paragraphs[1]
    assert paragraphs[2].startswith("![")
    assert "docs/pictures/plan.png" in paragraphs[2]
    assert re.findall(r"```sh\n(.*)\n```", "\n\n".join(paragraphs)) == ["make demo", "make check"]


def recipes() -> set[str]:
    """What can be made, without what only other recipes need."""
    _, _, phony = text_of("Makefile").partition(".PHONY: ")
    return set(phony.partition("\n")[0].split()) - {"check-tools"}


def test_contributing_lists_the_recipes_there_are() -> None:
    listed = {cells[0].strip("`").removeprefix("make ") for cells in table_rows("CONTRIBUTING.md", "Set-up")}
    assert listed == recipes() - {"help"}


@pytest.mark.parametrize("page", PAGES, ids=told)
def test_a_recipe_named_on_a_page_exists(page: Path) -> None:
    named = set(re.findall(r"`make ([a-z-]+)", text_of(told(page))))
    named |= set(re.findall(r"^make ([a-z-]+)$", text_of(told(page)), flags=re.MULTILINE))
    assert named - recipes() == set()


@pytest.mark.parametrize("page", PAGES, ids=told)
def test_a_file_of_the_source_named_on_a_page_exists(page: Path) -> None:
    named = {
        word
        for word in re.findall(r"`((?:src|tests|tools|docs|examples)/[\w./-]+)`", prose(told(page)))
        if not word.endswith("srk_1980.py")
    }
    assert {word for word in named if not (ROOT / word).exists()} == set()


def test_the_glossary_is_in_order_and_says_each_word_once() -> None:
    words = [cells[0].lower() for cells in table_rows("docs/glossary.md")]
    assert words == sorted(words)
    assert len(set(words)) == len(words)
