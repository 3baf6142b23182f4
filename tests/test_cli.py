"""What is typed: help, exit codes, one line for each error, and how little `safe` needs."""

import json
import os
import socket
import subprocess
import sys
from dataclasses import replace
from pathlib import Path
from threading import Thread

import pytest

import controller
from controller.batch.acts import ActKind
from controller.batch.snapshot import Snapshot, TicksShown
from controller.cli import COMMANDS, main
from controller.cli.options import parser
from controller.cli.safety import run_folder
from controller.cli.talking import act_named, carried, lines
from controller.errors import InputError
from controller.link import AnswerMessage, SnapshotMessage, decode_inbound, encode
from controller.planning.sheet_json import sheet_from_json
from controller.quantities import People
from controller.rehearsal.run import Rehearsal
from controller.rehearsal.scenario import scenario
from controller.settings import default_settings_text

ROOT = Path(controller.__file__).parents[1]


@pytest.fixture(scope="module")
def state(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The state folder of the rig below."""
    return tmp_path_factory.mktemp("state")


@pytest.fixture(scope="module")
def shown(state: Path) -> Snapshot:
    """A batch that is planned, on a pretend rig."""
    rehearsal = Rehearsal(scenario("good-night"), 1, state / "log.db")
    rehearsal.close()
    assert rehearsal.shown is not None
    return rehearsal.shown


def one_line(said: str) -> str:
    """The one line that was said."""
    assert said.count("\n") == 1, said
    return said


def typed(*words: str) -> subprocess.CompletedProcess[str]:
    """A `warmdraw` of its own, warnings as errors."""
    return subprocess.run(
        [sys.executable, "-W", "error", "-m", "controller.cli", *words],
        env={**os.environ, "PYTHONPATH": str(ROOT)},
        capture_output=True,
        text=True,
        timeout=60,
    )


@pytest.mark.parametrize("command", sorted(COMMANDS))
def test_every_command_has_help_with_an_example(
    command: str, capsys: pytest.CaptureFixture[str]
) -> None:
    with pytest.raises(SystemExit) as end:
        main([command, "--help"])
    assert end.value.code == 0
    assert f"Example: warmdraw {command}" in " ".join(capsys.readouterr().out.split())


def test_the_parser_and_the_table_know_the_same_commands() -> None:
    choices = parser()._subparsers._group_actions[0].choices  # type: ignore[union-attr]
    assert set(choices or ()) == set(COMMANDS)


def test_version_is_said(capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit) as end:
        main(["--version"])
    assert end.value.code == 0
    assert capsys.readouterr().out.startswith("warmdraw ")


@pytest.mark.parametrize(
    "words",
    [
        [],
        ["fly"],
        ["plan"],
        ["demo", "--speed", "fast"],
        ["simulate", "no-such-story"],
        ["simulate", "no-such-file.toml"],
        ["plan", "no-such-file.toml"],
        ["plan", "no-such-file.json"],
        ["control", "--config", "/nowhere/rig.toml"],
        ["status", "--run", "/nowhere"],
        ["press", "EXPLODE", "--run", "/nowhere"],
        ["press", "COATED", "--run", "/nowhere"],
        ["report", "ash-1", "--state", "/nowhere"],
        ["export", "ash-1", "--state", "/nowhere"],
        ["pair", "--state", "/nowhere"],
    ],
)
def test_bad_input_is_one_line_and_exit_2(
    words: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    try:
        code = main(words)
    except SystemExit as end:
        code = int(end.code or 0)
    said = capsys.readouterr()
    assert code == 2
    assert said.out == ""
    assert one_line(said.err).startswith("warmdraw")


def test_each_fault_of_a_settings_file_has_its_line(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    config = tmp_path / "rig.toml"
    config.write_text(default_settings_text().replace('altitude = "3 m"', 'altitude = "3 pounds"'))
    assert main(["control", "--config", str(config)]) == 2
    assert "altitude" in capsys.readouterr().err


def test_a_traceback_is_shown_only_when_asked_for(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    def broken(*_: object) -> int:
        raise ZeroDivisionError("a bug")

    monkeypatch.setattr("controller.cli.safety.outputs_off", broken)
    assert main(["safe"]) == 1
    assert "unexpected ZeroDivisionError: a bug" in one_line(capsys.readouterr().err)
    assert main(["safe", "--debug"]) == 1
    assert "Traceback" in capsys.readouterr().err


# --- safe


def test_safe_imports_little(tmp_path: Path) -> None:
    code = (
        "import sys; from controller.cli import main\n"
        f"main(['safe', '--run', {str(tmp_path)!r}])\n"
        "print(len(sys.modules)); print(*sorted({name.split('.')[0] for name in sys.modules}))"
    )
    done = subprocess.run(
        [sys.executable, "-c", code],
        env={**os.environ, "PYTHONPATH": str(ROOT)},
        capture_output=True,
        text=True,
        timeout=60,
        check=True,
    )
    count, names = done.stdout.strip().splitlines()[-2:]
    heavy = {"pydantic", "fastapi", "pint", "asyncio", "sqlite3", "gpiozero", "rich", "uvicorn"}
    assert not heavy & set(names.split())
    # own: measured 150 on 3.11, and room for another Python's
    assert int(count) < 250


def test_safe_that_knows_nothing_of_the_outputs_says_pull_the_plug(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["safe", "--run", str(tmp_path)]) == 1
    assert "pull the lamp's plug" in one_line(capsys.readouterr().err)


@pytest.mark.parametrize("text", ["not toml", "", "[rig]\nrun_folder = 7\n", "\0"])
def test_safe_believes_no_broken_settings(tmp_path: Path, text: str) -> None:
    config = tmp_path / "rig.toml"
    config.write_text(text)
    assert run_folder(config) == Path("/run/warmdraw")
    assert run_folder(tmp_path / "none.toml") == Path("/run/warmdraw")


def test_safe_finds_the_run_folder_in_good_settings(tmp_path: Path) -> None:
    config = tmp_path / "rig.toml"
    config.write_text(default_settings_text().replace("/run/warmdraw", "/somewhere/else"))
    assert run_folder(config) == Path("/somewhere/else")


# --- plan, simulate


def test_an_example_is_planned_without_settings_and_says_so(
    capsys: pytest.CaptureFixture[str],
) -> None:
    assert main(["plan", "washboard-ash"]) == 0
    said = capsys.readouterr().out
    assert said.startswith("! For the example rig") and "\nCoat 1: " in said
    assert "[s1]" not in said
    assert main(["plan", "washboard-ash", "--units", "us", "--sources"]) == 0
    said = capsys.readouterr().out
    sheet, _, sources = said.partition("\nSources\n")
    assert "°C" not in sheet and " in [s" in sheet
    assert "\n  s1 " in sources


def test_what_plan_writes_as_json_can_be_planned_again(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["plan", "washboard-ash", "--json"]) == 0
    text = capsys.readouterr().out
    found = json.loads(text)
    assert found["sheet"]["name"] == "Washboard in ash"
    assert found["sections"][0]["key"] == "boards"
    (tmp_path / "ash.json").write_text(text)
    assert main(["plan", str(tmp_path / "ash.json")]) == 0
    again = capsys.readouterr().out
    assert main(["plan", "washboard-ash"]) == 0
    assert capsys.readouterr().out == again
    (tmp_path / "bare.json").write_text(json.dumps(found["sheet"]))
    assert main(["plan", str(tmp_path / "bare.json")]) == 0
    assert "plan its description" in capsys.readouterr().out


def test_a_sheet_is_written_as_a_page_that_says_it_is_simulated(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(tmp_path)
    assert main(["plan", "washboard-ash", "--html"]) == 0
    assert capsys.readouterr().out == "written: washboard-ash.html\n"
    page = (tmp_path / "washboard-ash.html").read_text()
    assert "SIMULATED" in page and "For the example rig" in page
    assert main(["plan", "washboard-ash", "--html", str(tmp_path / "x.html")]) == 0
    assert (tmp_path / "x.html").exists()
    assert main(["plan", "washboard-ash", "--html", "/nowhere/x.html"]) == 2


def test_a_shops_own_catalogue_is_planned_from_and_one_that_is_not_there_is_one_line(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    rows = tmp_path / "own"
    rows.mkdir()
    (rows / "woods.toml").write_text(
        '["white ash"]\nbasic_gravity = 0.6\nsource = "own: weighed"\n'
    )
    assert main(["plan", "washboard-ash", "--json"]) == 0
    usual = json.loads(capsys.readouterr().out)["sheet"]["coats"][0]["board"]["density"]
    assert main(["plan", "washboard-ash", "--json", "--catalogue", str(rows)]) == 0
    heavier = json.loads(capsys.readouterr().out)["sheet"]["coats"][0]["board"]["density"]
    assert heavier > usual
    assert main(["plan", "washboard-ash", "--catalogue", str(tmp_path / "none")]) == 2
    assert str(tmp_path / "none") in one_line(capsys.readouterr().err)


def test_a_scenario_is_played_to_its_end_and_its_record_kept(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    kept = ["--state", str(tmp_path / "night")]
    assert main(["simulate", "good-night", "--json", *kept]) == 0
    told = json.loads(capsys.readouterr().out)
    assert (told["outcome"], told["as_expected"], told["unsafe"]) == ("FINISHED", True, [])
    assert main(["simulate", "good-night", *kept]) == 2
    assert "give --state an empty folder" in capsys.readouterr().err
    picture = tmp_path / "night.svg"
    assert main(["report", "batch-1", *kept, "--picture", str(picture)]) == 0
    assert "SIMULATED" in picture.read_text()


@pytest.mark.usefixtures("shown")
def test_a_record_is_written_and_its_readings_are_poured_out(
    state: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    where = ["batch-1", "--state", str(state)]
    assert main(["report", *where, "-o", str(tmp_path / "ash.html")]) == 0
    assert capsys.readouterr().out == f"written: {tmp_path / 'ash.html'}\n"
    assert "Washboard in ash" in (tmp_path / "ash.html").read_text()
    assert main(["export", *where]) == 0
    head, first, *_ = capsys.readouterr().out.splitlines()
    assert head.startswith("at_utc,rig_s,stage,face_c") and "PLANNED" in first
    assert main(["export", *where, "--events", "-o", str(tmp_path / "events.csv")]) == 0
    assert "PLAN from operator" in (tmp_path / "events.csv").read_text()


@pytest.mark.usefixtures("shown")
def test_a_batch_that_is_not_there_and_a_place_that_cannot_be_written_are_one_line(
    state: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["report", "no-such", "--state", str(state)]) == 2
    assert "batch-1" in one_line(capsys.readouterr().err)
    assert main(["export", "batch-1", "--state", str(state), "-o", "/nowhere/x.csv"]) == 2
    assert "cannot be written" in one_line(capsys.readouterr().err)


# --- status and press, at a control that is not there but for its socket


def test_every_act_can_be_typed_as_people_type_it() -> None:
    for kind in ActKind:
        for said in (kind, kind.lower(), kind.replace(" ", "-"), kind.replace(" ", "_")):
            assert act_named(said) is kind
    with pytest.raises(InputError, match="there are PLAN"):
        act_named("EXPLODE")


def test_what_an_act_carries_is_typed_as_key_and_value() -> None:
    said = ["a_g=40", "b_g=19.5", "aired=true", "reason=held all night", "what=sister"]
    assert carried(said) == {
        "a_g": 40.0,
        "b_g": 19.5,
        "aired": True,
        "reason": "held all night",
        "what": "sister",
    }
    for wrong in ("aired", "=4"):
        with pytest.raises(InputError, match="key=value"):
            carried([wrong])


class Counter:
    """Somebody at control's socket who shows one snapshot and answers one press."""

    def __init__(self, folder: Path, shown: Snapshot, accepted: bool = True) -> None:
        self._shown = encode(SnapshotMessage(snapshot=shown))
        self.heard: list[object] = []
        self._accepted = accepted
        self._socket = socket.socket(socket.AF_UNIX)
        self._socket.bind(str(folder / "control.sock"))
        self._socket.listen()
        self._socket.settimeout(30)
        self._thread = Thread(target=self._serve, daemon=True)
        self._thread.start()

    def _serve(self) -> None:
        for _ in range(2):
            try:
                connection, _ = self._socket.accept()
            except OSError:
                return
            with connection, connection.makefile("rb") as lines:
                for line in lines:
                    message = decode_inbound(line)
                    self.heard.append(message)
                    if message.type == "hello" and message.wants == "snapshots":
                        connection.sendall(self._shown)
                    elif message.type == "act":
                        answer = AnswerMessage(
                            act=message.id, accepted=self._accepted, text="So it is written."
                        )
                        connection.sendall(encode(answer))

    def close(self) -> None:
        self._socket.close()


def test_status_says_the_sentence_the_readings_and_their_ages(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], shown: Snapshot
) -> None:
    counter = Counter(tmp_path, shown)
    assert main(["status", "--run", str(tmp_path)]) == 0
    said = capsys.readouterr().out
    counter.close()
    assert "PLANNED" in said and "Ready. Board under the lamp" in said and "lamp" in said
    assert "{" not in said
    assert "next: START plug_in_reach=..." in said
    assert "SIMULATED" in said.splitlines()[0]
    readings = [line for line in said.splitlines() if line.startswith(("  face", "  bag"))]
    assert len(readings) == 2 and all(" old" in line for line in readings)
    assert "inHg vacuum" in readings[1]
    assert "ticks" not in said


def test_status_says_how_late_controls_ticks_were(shown: Snapshot) -> None:
    timed = replace(shown, ticks=TicksShown(count=3600, worst_late_s=0.314, most_late_s=0.02))
    assert lines(timed, People())[-1] == (
        "control's last 3600 ticks: 99.9 % done within 0.02 s of their time, the worst 0.31 s"
        " after it"
    )


def test_a_press_names_the_batch_the_stage_and_how_long_ago(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], shown: Snapshot
) -> None:
    counter = Counter(tmp_path, shown)
    assert main(["press", "sealed", "used_g=26", "--ago", "6 min", "--run", str(tmp_path)]) == 0
    counter.close()
    assert capsys.readouterr().out == "So it is written.\n"
    said = counter.heard[-1]
    assert shown.batch is not None
    assert (said.kind, said.batch, said.stage) == ("SEALED", shown.batch.id, shown.stage)  # type: ignore[attr-defined]
    assert (said.ago_s, said.values) == (360.0, {"used_g": 26.0})  # type: ignore[attr-defined]
    assert said.seen_seq == shown.seq  # type: ignore[attr-defined]


@pytest.mark.parametrize("whole", [True, False])
def test_a_sheet_that_plan_wrote_is_pressed_onto_the_rig(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], shown: Snapshot, whole: bool
) -> None:
    assert main(["plan", "washboard-sapele", "--json"]) == 0
    text = capsys.readouterr().out
    planned = sheet_from_json(text)
    file = tmp_path / "sapele.json"
    file.write_text(text if whole else json.dumps(json.loads(text)["sheet"]))
    counter = Counter(tmp_path, shown)
    assert main(["press", "PLAN", str(file), "--run", str(tmp_path)]) == 0
    counter.close()
    assert capsys.readouterr().out == "So it is written.\n"
    said = counter.heard[-1]
    assert said.kind == "PLAN"  # type: ignore[attr-defined]
    assert sheet_from_json(said.values["sheet"]) == planned  # type: ignore[attr-defined]
    assert said.values["id"].startswith("washboards-in-sapele-")  # type: ignore[attr-defined]


def test_a_press_that_is_refused_is_exit_1(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], shown: Snapshot
) -> None:
    counter = Counter(tmp_path, shown, accepted=False)
    assert main(["press", "COATED", "--run", str(tmp_path)]) == 1
    counter.close()
    assert one_line(capsys.readouterr().err) == "warmdraw: So it is written.\n"


def test_a_reader_that_has_enough_is_no_traceback() -> None:
    done = subprocess.run(
        f"{sys.executable} -W error -m controller.cli plan washboard-ash --json | true",
        shell=True,
        env={**os.environ, "PYTHONPATH": str(ROOT)},
        capture_output=True,
        text=True,
        timeout=60,
    )
    assert "Traceback" not in done.stderr


def test_the_module_runs_as_the_command_does() -> None:
    done = typed("press", "EXPLODE", "--run", "/nowhere")
    assert done.returncode == 2
    assert one_line(done.stderr).startswith("warmdraw: no act 'EXPLODE'")
