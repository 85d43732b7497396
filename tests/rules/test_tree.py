"""The rules of the house, held against the whole repository."""

import pytest

from helpers.rules import constants, docstrings, imports, names, published, sizes, texts, tree

MODULES = tree.modules()
GUARDS = "flyoff.physics.limits"  # about any argument, so about no unit
PHYSICS = sorted(m for m in MODULES if imports.folder_of(m) == "physics" and m != GUARDS)
OTHERS = sorted(set(MODULES) - set(PHYSICS))


def check(findings: list[str]) -> None:
    """Fail with the findings alone: they say it better than a comparison of lists."""
    if findings:
        pytest.fail("\n".join(findings), pytrace=False)


@pytest.mark.parametrize("module", MODULES)
def test_imports_go_one_way(module: str) -> None:
    check(imports.direction_findings(module, MODULES[module]))


def test_no_import_circles() -> None:
    check(imports.cycle_findings(MODULES))


def test_files_and_functions_are_small() -> None:
    check([f for path, text in tree.python_files().items() for f in sizes.size_findings(path, text)])


@pytest.mark.parametrize("module", PHYSICS)
def test_names_in_physics_say_their_units(module: str) -> None:
    check(names.name_findings(tree.file_of(module), MODULES[module]))


@pytest.mark.parametrize("module", PHYSICS)
def test_docstrings_in_physics_say_the_contract(module: str) -> None:
    check(docstrings.contract_findings(tree.file_of(module), module, MODULES))


@pytest.mark.parametrize("module", OTHERS)
def test_docstrings_elsewhere_say_a_sentence(module: str) -> None:
    check(docstrings.sentence_findings(tree.file_of(module), MODULES[module]))


def test_constants_have_unit_and_source() -> None:
    module = "flyoff.core.constants"
    check(constants.constant_findings(tree.file_of(module), MODULES[module]))


@pytest.mark.parametrize(
    ("module", "printed"),
    [("flyoff.core.constants", published.CONSTANTS), ("flyoff.core.units", published.UNITS)],
)
def test_constants_are_as_published(module: str, printed: dict[str, tuple[str, bool, str]]) -> None:
    check(constants.digit_findings(constants.values_of(MODULES[module]), printed))


def test_texts_speak_of_the_project_alone() -> None:
    check([f for path, text in tree.texts().items() for f in texts.text_findings(path, text)])
