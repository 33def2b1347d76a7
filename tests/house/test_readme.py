"""The pages for people promise only what is there, and README leaves no verb out. CI runs README's two commands."""

from __future__ import annotations

import re

import pytest
from typer.core import TyperCommand, TyperGroup
from typer.main import get_command

from stockroom.cli.app import app
from tests.house.tree import ROOT, calls_of_stockroom, marked_block

PAGES = ("README.md", "DEVELOPERS.md")
ROOM = re.compile(r"`((?:stockroom|labels|migrations|seed|tests|\.ci)/[\w./-]*)`")
"""A path of the house in a page: back-ticked and without placeholders."""


def page(name: str) -> str:
    """The text of a page at the top of the house."""
    return (ROOT / name).read_text(encoding="utf-8")


def front() -> TyperGroup:
    """The command line itself."""
    group = get_command(app)
    assert isinstance(group, TyperGroup)
    return group


def command(words: list[str]) -> tuple[TyperCommand | TyperGroup, list[str]]:
    """The command that these words call, and the words left for it. Options before the verb stay among them."""
    found: TyperCommand | TyperGroup = front()
    left: list[str] = []
    for word in words:
        if isinstance(found, TyperGroup) and not word.startswith("-") and left[-1:] != ["--shop"]:
            deeper = found.commands.get(word)
            assert isinstance(deeper, TyperCommand | TyperGroup), f"{' '.join(words)}: there is no verb '{word}'"
            found = deeper
        else:
            left.append(word)
    return found, left


def options(of: TyperCommand | TyperGroup) -> set[str]:
    """Every spelling of the options that a command and the front itself take."""
    asked = [parameter for one in (of, front()) for parameter in one.params if parameter.param_type_name == "option"]
    return {"--help", "-h"}.union(*(parameter.opts for parameter in asked))


def verbs() -> list[str]:
    """Every verb that a person can call, in the order of the help."""
    return [name for name, verb in front().commands.items() if not verb.hidden]


def test_first_command_makes_the_environment_installs_and_shows_the_demo() -> None:
    set_up = marked_block(page("README.md"), "set-up")
    assert len(set_up.splitlines()) == 1
    assert [part.split()[0] for part in set_up.split("&&")] == ["python3", ".venv/bin/pip", ".venv/bin/stockroom"]
    assert calls_of_stockroom(f"```sh\n{set_up}\n```") == [["demo", "demo"]]


def test_second_command_passes_the_tests() -> None:
    tests = marked_block(page("README.md"), "tests")
    assert len(tests.splitlines()) == 1
    assert tests.startswith(".venv/bin/python -m pytest")


@pytest.mark.parametrize("name", PAGES)
def test_every_call_that_a_page_shows_is_one_that_can_be_made(name: str) -> None:
    calls = calls_of_stockroom(page(name))
    assert calls, f"{name} shows no call of stockroom"
    for words in calls:
        found, left = command(words)
        unknown = {word.partition("=")[0] for word in left if word.startswith("-")} - options(found)
        assert unknown == set(), f"'stockroom {' '.join(words)}' in {name}: no such option"


@pytest.mark.parametrize("verb", verbs())
def test_readme_names_every_verb(verb: str) -> None:
    assert re.search(rf"\bstockroom {verb}\b|`{verb}\b", page("README.md")), f"README says nothing of '{verb}'"


@pytest.mark.parametrize("name", PAGES)
def test_every_path_that_a_page_names_is_there(name: str) -> None:
    missing = [path for path in ROOM.findall(page(name)) if not (ROOT / path).exists()]
    assert missing == []


def test_a_call_of_no_verb_is_seen() -> None:
    with pytest.raises(AssertionError, match="no verb 'conjure'"):
        command(["conjure", "--shop", "x"])
