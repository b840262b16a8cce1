"""What a Pi's pip would choose, asked from here: `python -m tests.resolver`.

For each Python that a Raspberry Pi OS brings, the resolver takes our requirements with the versions that are held, for
64-bit ARM, binaries alone. Markers are evaluated here, for that machine: pip itself would evaluate them on the computer
that it runs on. Asks the package index that pip is set up for; installs nothing.
"""

import json
import subprocess
import sys
import tempfile
import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import Any, NamedTuple

import click
from packaging.requirements import Requirement
from packaging.tags import Tag, compatible_tags, cpython_tags
from packaging.utils import parse_wheel_filename

REPOSITORY = Path(__file__).resolve().parents[1]


class Pi(NamedTuple):
    """One system that is supported."""

    system: str
    python: tuple[int, int]
    glibc: int  # its minor version
    lgpio_of_the_system: bool  # no wheel for its Python

    @property
    def platforms(self) -> list[str]:
        """Tags that its pip takes, the newest first."""
        return [f"manylinux_2_{minor}_aarch64" for minor in range(self.glibc, 16, -1)] + ["manylinux2014_aarch64"]

    @property
    def environment(self) -> dict[str, str]:
        """What markers are evaluated with."""
        version = ".".join(map(str, self.python))
        return {
            "implementation_name": "cpython", "implementation_version": f"{version}.0", "os_name": "posix",
            "platform_machine": "aarch64", "platform_python_implementation": "CPython", "platform_release": "6.6",
            "platform_system": "Linux", "platform_version": "", "python_full_version": f"{version}.0",
            "python_version": version, "sys_platform": "linux",
        }  # fmt: skip

    def tags(self) -> frozenset[Tag]:
        """Every wheel tag that it can install."""
        name = f"cp{self.python[0]}{self.python[1]}"
        of_it = [
            *cpython_tags(self.python, [name], self.platforms),
            *compatible_tags(self.python, name, self.platforms),
        ]
        return frozenset(of_it)


TOOLS = ("pip", "setuptools")
"""An environment brings its own; no program of ours runs on them."""

PIS = (Pi("Bookworm", (3, 11), 36, False), Pi("Trixie", (3, 13), 41, True))


class Chosen(NamedTuple):
    """One file that would be installed."""

    name: str
    version: str
    file: str


def _asked(pi: Pi) -> list[str]:
    """Our own requirements as they count on that Pi."""
    project = tomllib.loads((REPOSITORY / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    extra = project["optional-dependencies"]["pi"]
    return [_plain(line) for line in (*project["dependencies"], *extra) if _counts(Requirement(line), pi)]


def requirements_here(python: str) -> list[str]:
    """Our own requirements as they count on a computer like this one with another Python."""
    project = tomllib.loads((REPOSITORY / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    return [_plain(line) for line in project["dependencies"] if _counts_here(Requirement(line), python)]


def _counts_here(requirement: Requirement, python: str) -> bool:
    marker = requirement.marker
    return marker is None or marker.evaluate({"python_version": python, "python_full_version": f"{python}.0"})


def _plain(line: str) -> str:
    requirement = Requirement(line)
    requirement.marker = None
    return str(requirement)


def _counts(requirement: Requirement, pi: Pi, extras: frozenset[str] = frozenset()) -> bool:
    marker = requirement.marker
    return marker is None or any(marker.evaluate({**pi.environment, "extra": extra}) for extra in (extras or {""}))


def _pip(pi: Pi, asked: list[str], *options: str) -> dict[str, Any]:
    with tempfile.TemporaryDirectory(prefix="resolver") as directory:
        report = Path(directory) / "report.json"
        version = "".join(map(str, pi.python))
        command = [
            sys.executable, "-m", "pip", "install", "--dry-run", "--ignore-installed", "--quiet", "--no-input",
            "--only-binary=:all:", "--target", f"{directory}/nowhere", "--report", str(report),
            "--implementation", "cp", "--abi", f"cp{version}", "--abi", "abi3", "--abi", "none",
            "--python-version", ".".join(map(str, pi.python)),
            *[word for platform in pi.platforms for word in ("--platform", platform)],
            "--constraint", str(REPOSITORY / ".ci/constraints.txt"), *options, *asked,
        ]  # fmt: skip
        done = subprocess.run(command, capture_output=True, text=True, check=False)
        if done.returncode:
            raise click.ClickException(f"{pi.system}: pip found no choice. {done.stderr.strip()[-800:]}")
        found = json.loads(report.read_text(encoding="utf-8"))
        assert isinstance(found, dict)
        return found


def chosen(pi: Pi) -> list[Chosen]:
    """What would be installed: pip's choice, and what markers of that machine add to it.

    pip evaluates the markers of the packages it finds on this computer, so each package's own requirements are looked
    through again for that Pi; what is missing is asked for besides, until nothing is.
    """
    asked = _asked(pi)
    while True:
        report = _pip(pi, asked)["install"]
        names = {_key(item["metadata"]["name"]) for item in report}
        more = sorted(
            {line for item in report for line in _needs(item, pi) if _key(Requirement(line).name) not in names}
        )
        if not more:
            return [_choice(item) for item in report]
        asked += more


def _needs(item: dict[str, Any], pi: Pi) -> Iterator[str]:
    extras = frozenset(item.get("requested_extras", ()))
    for line in item["metadata"].get("requires_dist", ()):
        if _counts(Requirement(line), pi, extras):
            yield _plain(line)


def _choice(item: dict[str, Any]) -> Chosen:
    file = item["download_info"]["url"].rpartition("/")[2].partition("#")[0].replace("%2B", "+")
    return Chosen(item["metadata"]["name"], item["metadata"]["version"], file)


def _key(name: str) -> str:
    return name.lower().replace("_", "-").replace(".", "-")


def faults(pi: Pi, found: list[Chosen]) -> list[str]:
    """What speaks against a choice."""
    said = []
    tags, held = pi.tags(), _held()
    for item in found:
        if not item.file.endswith(".whl"):
            said.append(f"{item.name} {item.version} is no binary: {item.file}")
        elif not parse_wheel_filename(item.file)[3] & tags:
            said.append(f"{item.file} does not fit this Pi")
        if held.get(_key(item.name)) not in (None, item.version):
            said.append(f"{item.name} is {item.version}; held: {held[_key(item.name)]}")
        elif _key(item.name) not in held | dict.fromkeys(TOOLS):
            said.append(f"{item.name} {item.version} is not held to a version in .ci/constraints.txt")
    names = {_key(item.name) for item in found}
    if "gpiod" not in names:
        said.append("gpiod is not chosen: the sensor's driver cannot be imported on a Pi without it")
    if ("lgpio" in names) == pi.lgpio_of_the_system:
        said.append("lgpio comes from the system here, not from the index" if pi.lgpio_of_the_system else "no lgpio")
    return said


def _held() -> dict[str, str]:
    lines = (REPOSITORY / ".ci/constraints.txt").read_text(encoding="utf-8").splitlines()
    held = [Requirement(line) for line in lines if line and not line.startswith("#")]
    return {_key(each.name): next(iter(each.specifier)).version for each in held}


@click.command()
@click.option("--json", "as_json", is_flag=True)
def main(as_json: bool) -> None:
    """Ask the package index what a Pi would install. Exit status: 0 binaries alone, 1 something else."""
    found = {pi: chosen(pi) for pi in PIS}
    against = {pi.system: faults(pi, items) for pi, items in found.items()}
    if as_json:
        rows = {pi.system: [item._asdict() for item in items] for pi, items in found.items()}
        click.echo(json.dumps({"chosen": rows, "faults": against}, indent=1))
    else:
        for pi, items in found.items():
            of_it = sum("aarch64" in item.file for item in items)
            system = "; lgpio is the system's python3-lgpio" if pi.lgpio_of_the_system else ""
            version = ".".join(map(str, pi.python))
            click.echo(f"{pi.system}, Python {version}: {len(items)} wheels, {of_it} of them for aarch64{system}")
            for fault in against[pi.system]:
                click.echo(f"  wrong: {fault}")
    raise SystemExit(any(against.values()))


if __name__ == "__main__":
    main()
