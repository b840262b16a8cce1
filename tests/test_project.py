"""What the repository promises as a whole: where things lie, what is carried, held, documented and not said."""

import hashlib
import re
import shutil
import subprocess
import sys
import tomllib
from collections.abc import Iterator
from pathlib import Path

import pytest
from packaging.requirements import Requirement

from hardware.ports import Wiring
from supervisor.cli import main
from supervisor.furnace.pins import INPUT_PINS, OUTPUT_PINS, PERMIT_PINS
from tests.benchmarks import units
from tests.drawings.__main__ import SHEETS
from tests.drawings.lines import INPUTS, OUTPUTS
from tests.pages import PAGES, commands

TOP_LEVEL = {
    "README.md", "DEVELOPERS.md", "pyproject.toml", "supervisor", "web", "hardware", "tests", "systemd", "docs",
}  # fmt: skip
VENDORED = ("web/static/vendor/uplot-1.6.32", "tests/browser/vendor/axe-core-4.14.1")
UNITS = ("meltkeeper.service", "meltkeeper-web.service", "meltkeeper-messenger.service")
IMPORTED_AS = {
    "adafruit-circuitpython-max31855": "adafruit_max31855",
    "sqlite-utils": "sqlite_utils",
    "simple-pid": "simple_pid",
}
USED_BY_OTHERS = {"Adafruit-Blinka", "gpiod"}  # the MAX31855 driver stands on the first, the first on the second


def product_texts(repository: Path) -> Iterator[tuple[str, str]]:
    """Every text file of ours with its name. What is carried from elsewhere is left out, and this file."""
    for top in sorted({*TOP_LEVEL, ".ci", ".gitignore"}):
        path = repository / top
        for file in [path] if path.is_file() else sorted(path.rglob("*")):
            name = str(file.relative_to(repository))
            if not file.is_file() or "__pycache__" in name or name.startswith(VENDORED) or file == Path(__file__):
                continue
            try:
                yield name, file.read_text(encoding="utf-8")
            except UnicodeDecodeError:
                assert file.suffix in {".png", ".ico", ".woff2"}, f"{name} is no text and no picture"


def pyproject(repository: Path) -> dict[str, object]:
    project = tomllib.loads((repository / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    assert isinstance(project, dict)
    return project


def requirements(repository: Path) -> list[Requirement]:
    project = tomllib.loads((repository / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    extras = project["optional-dependencies"]
    return [Requirement(line) for line in (*project["dependencies"], *extras["pi"], *extras["test"])]


def test_the_top_level_holds_the_named_folders_and_nothing_else(repository: Path) -> None:
    # An installation in place leaves its .egg-info here, which is not kept.
    found = {path.name for path in repository.iterdir() if not path.name.startswith(".")}
    assert {name for name in found if not name.endswith(".egg-info")} == TOP_LEVEL


@pytest.mark.parametrize("folder", VENDORED)
def test_what_is_carried_from_elsewhere_is_as_it_was_published(repository: Path, folder: str) -> None:
    version, _, sums = (repository / folder / "VERSION").read_text(encoding="utf-8").partition("sha256 of the files:\n")
    written = {name: digest for digest, name in (line.split() for line in sums.splitlines())}
    lying_there = {
        path.name: hashlib.sha256(path.read_bytes()).hexdigest()
        for path in (repository / folder).iterdir()
        if path.name != "VERSION"
    }
    assert written == lying_there
    assert "LICENSE" in written
    name, number = Path(folder).name.rsplit("-", 1)
    assert f"name: {name}\nversion: {number}\n" in version
    assert f"`{folder}/`" in (repository / "docs/licence.md").read_text(encoding="utf-8")


def test_every_requirement_is_held_to_one_version(repository: Path) -> None:
    lines = (repository / ".ci/constraints.txt").read_text(encoding="utf-8").splitlines()
    held = [Requirement(line) for line in lines if not line.startswith("#")]
    assert all(re.fullmatch(r"==[^*]+", str(entry.specifier)) and not entry.url for entry in held)
    versions = {entry.name.lower(): next(iter(entry.specifier)).version for entry in held}
    for requirement in requirements(repository):
        assert requirement.specifier.contains(versions[requirement.name.lower()]), requirement.name


def test_packages_for_the_pi_stay_off_other_machines(repository: Path) -> None:
    machines = [("linux", "x86_64", "3.13"), ("darwin", "arm64", "3.12"), ("win32", "AMD64", "3.12")]
    pi_only = [requirement for requirement in requirements(repository) if requirement.name in {"gpiod", "lgpio"}]
    assert len(pi_only) == 2
    for requirement in pi_only:
        assert requirement.marker is not None
        for platform, machine, python in machines:
            where = {"sys_platform": platform, "platform_machine": machine, "python_version": python}
            assert not requirement.marker.evaluate(where)
        pi = {"sys_platform": "linux", "platform_machine": "aarch64", "python_version": "3.11"}
        assert requirement.marker.evaluate(pi)


def test_every_library_that_is_installed_is_used(repository: Path) -> None:
    ours = "\n".join(
        text for name, text in product_texts(repository) if name.endswith(".py") and not name.startswith("tests/")
    )
    for line in tomllib.loads((repository / "pyproject.toml").read_text(encoding="utf-8"))["project"]["dependencies"]:
        name = Requirement(line).name
        if name not in USED_BY_OTHERS:
            module = IMPORTED_AS.get(name, name)
            assert re.search(rf"^\s*(import|from) {module}\b", ours, re.MULTILINE), f"{name} is never imported"


def test_no_file_knows_the_machine_it_was_written_on(repository: Path) -> None:
    places = re.compile(
        r"/work/|/root/|/home/(?!pi\b)|\.pyenv|/opt/(?!meltkeeper\b)|pypi\.org|pythonhosted|registry\.npmjs|deb\.debian\.org"
    )
    found = [(name, match[0]) for name, text in product_texts(repository) for match in places.finditer(text)]
    assert found == []


def test_no_file_speaks_in_the_codes_of_a_reference_page(repository: Path) -> None:
    codes = re.compile(r"\bSR-\d\d?\b|\b[BCEFGH]-\d\d\b|\bissue [A-H]\b|\bTODO\b|\bFIXME\b")
    found = [(name, match[0]) for name, text in product_texts(repository) for match in codes.finditer(text)]
    assert found == []


def test_nothing_that_people_read_claims_what_software_cannot(repository: Path) -> None:
    claims = re.compile(
        r"\b(certified|compliant|guarantee[ds]?|fail-?safe|100 % safe|completely safe)\b", re.IGNORECASE
    )
    found = [(name, match[0]) for name, text in product_texts(repository) for match in claims.finditer(text)]
    assert found == []


@pytest.mark.parametrize("name", PAGES)
def test_pages_written_from_the_code_say_what_the_code_says(repository: Path, name: str) -> None:
    assert (repository / name).read_text(encoding="utf-8") == PAGES[name](), "python -m tests.pages writes it anew"


@pytest.mark.parametrize("words", [words for words, _ in commands(main, ("meltkeeper",))])
def test_every_command_and_every_option_has_help(words: str) -> None:
    command = dict(commands(main, ("meltkeeper",)))[words]
    assert command.help, words
    for parameter in command.params:
        if parameter.param_type_name == "option":
            assert getattr(parameter, "help", None), f"{words} {parameter.name}"


def test_links_between_pages_lead_somewhere(repository: Path) -> None:
    missing = [
        (name, target)
        for name, text in product_texts(repository)
        if name.endswith(".md")
        for target in re.findall(r"\]\(([^)#\s]+)(?:#[^)]*)?\)", text)
        if "://" not in target and not (repository / name).parent.joinpath(target).exists()
    ]
    assert missing == []


def test_files_that_are_named_are_there(repository: Path) -> None:
    named = re.compile(r"\bdocs/[\w/-]+\.(?:md|toml|png)\b")
    missing = {
        (name, path)
        for name, text in product_texts(repository)
        for path in named.findall(text)
        if not (repository / path).exists()
    }
    assert missing == set()


def test_the_readme_shows_two_commands_after_the_clone_and_both_can_be_run(repository: Path) -> None:
    readme = (repository / "README.md").read_text(encoding="utf-8")
    shown = [line for block in re.findall(r"```sh\n(.*?)```", readme, re.DOTALL) for line in block.splitlines()]
    assert shown == ["systemd/try", "tests/run"]
    for command in (*shown, ".ci/run"):
        assert (repository / command).stat().st_mode & 0o111 == 0o111, f"{command} is not executable"


def test_what_the_pages_call_the_version_is_the_version(repository: Path) -> None:
    version = pyproject(repository)["version"]
    assert f"## {version}" in (repository / "docs/changelog.md").read_text(encoding="utf-8")


def test_no_test_is_skipped(repository: Path) -> None:
    ways = re.compile(r"mark\.(skip|skipif|xfail)\b|pytest\.(skip|xfail|importorskip)\b|@unittest\.skip|collect_ignore")
    found = [name for name, text in product_texts(repository) if name.startswith("tests/") and ways.search(text)]
    assert found == []


def test_the_units_are_understood_to_the_last_line(repository: Path, tmp_path: Path) -> None:
    # It exits with 0 on a key that it does not know, so any word of it is a failure.
    for unit in UNITS:
        text = (repository / "systemd" / unit).read_text(encoding="utf-8")
        here = text.replace("/opt/meltkeeper/current/.venv/bin", str(Path(sys.executable).parent))
        (tmp_path / unit).write_text(here.replace("/opt/meltkeeper/current", str(repository)), encoding="utf-8")
    analyze = shutil.which("systemd-analyze")
    assert analyze, "Debian's package systemd brings it"
    command = [analyze, "verify", "--man=no", "--generators=no", *[str(tmp_path / unit) for unit in UNITS]]
    outcome = subprocess.run(command, capture_output=True, text=True, check=False)
    assert (outcome.stdout + outcome.stderr, outcome.returncode) == ("", 0)


def test_each_unit_is_locked_up_as_far_as_it_can_be() -> None:
    found = {figure.name: figure.value for figure in units.figures()}
    assert set(found) == {"security_daemon", "security_web", "security_messenger"}
    assert all(value <= 2.0 for value in found.values()), found


@pytest.mark.parametrize("unit", UNITS[1:])
@pytest.mark.parametrize(
    "line", ["PrivateDevices=yes", "DevicePolicy=closed", "RestrictRealtime=yes", "PrivateUsers=yes"]
)
def test_pages_and_messenger_have_no_hardware_at_all(repository: Path, unit: str, line: str) -> None:
    assert line in (repository / "systemd" / unit).read_text(encoding="utf-8").splitlines()


def test_the_loop_may_still_ask_for_real_time_priority(repository: Path) -> None:
    lines = (repository / "systemd/meltkeeper.service").read_text(encoding="utf-8").splitlines()
    filters = [line for line in lines if line.startswith("SystemCallFilter=")]
    assert filters == [
        "SystemCallFilter=@system-service",
        "SystemCallFilter=~@privileged @resources",
        "SystemCallFilter=sched_setscheduler mbind setpriority",
    ]
    assert not any(line.startswith("RestrictRealtime=yes") for line in lines)


def test_drawings_are_those_that_the_pin_map_and_the_netlists_make(repository: Path) -> None:
    for name, draw in SHEETS.items():
        drawn = (repository / f"docs/pictures/{name}.svg").read_text(encoding="utf-8")
        assert drawn == draw().svg(), f"{name}: python -m tests.drawings writes it anew"


def test_drawings_and_the_wiring_page_name_the_same_lines_and_pins(repository: Path) -> None:
    page = (repository / "docs/wiring.md").read_text(encoding="utf-8")
    numbered = {n: int(pin) for n, pin in re.findall(r"^\| `(\w+)` \| (?:in|out) \| (\d+) \|", page, re.MULTILINE)}
    assert {line.name: line.bcm for line in (*OUTPUTS, *INPUTS)} == numbered
    assert {line.name for line in OUTPUTS} == {"permit", "relay", "enable", "lamp", "sounder"}
    assert all(line.bcm in (PERMIT_PINS if line.name == "permit" else OUTPUT_PINS) for line in OUTPUTS)
    assert all(line.bcm in INPUT_PINS for line in INPUTS)


@pytest.mark.parametrize(
    "line",
    [
        "Type=notify", "WatchdogSec=10", "Restart=always", "RestartSec=1", "StartLimitIntervalSec=0",
        "StateDirectory=meltkeeper", "RuntimeDirectory=meltkeeper", "WorkingDirectory=/run/meltkeeper",
    ],
)  # fmt: skip
def test_the_supervisor_is_watched_and_always_comes_back(repository: Path, line: str) -> None:
    assert line in (repository / "systemd/meltkeeper.service").read_text(encoding="utf-8").splitlines()


@pytest.mark.parametrize("unit", UNITS)
def test_every_line_of_a_unit_is_explained(repository: Path, unit: str) -> None:
    explained = (repository / "systemd/README.md").read_text(encoding="utf-8")
    lines = (repository / "systemd" / unit).read_text(encoding="utf-8").splitlines()
    unexplained = {
        line.partition("=")[0] for line in lines if "=" in line and f"`{line.partition('=')[0]}" not in explained
    }
    assert unexplained == set()


@pytest.mark.parametrize("furnace", ["bench", "workshop"])
def test_the_wiring_page_numbers_the_lines_as_the_furnace_files_do(repository: Path, furnace: str) -> None:
    page = (repository / "docs/wiring.md").read_text(encoding="utf-8")
    numbered = {
        name: int(pin) for name, pin in re.findall(r"^\| `(\w+)` \| (?:in|out) \| (\d+) \|", page, re.MULTILINE)
    }
    file = repository / f"supervisor/furnace/files/{furnace}.toml"
    pins = tomllib.loads(file.read_text(encoding="utf-8"))["pins"]
    assert {line: pin for line, pin in pins.items() if line != "sensor_chip_selects"}.items() <= numbered.items()
    assert set(numbered) == set(Wiring._fields) - {"sensors"}
