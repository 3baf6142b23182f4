"""The pure parts of the page, tested by Node; the types, against the service; the weight."""

import gzip
import json
import re
import subprocess
from pathlib import Path

from phone import WEB, skip_loudly

from controller.page.app import openapi_schema

BUDGET = 45_000
"""Most the page may weigh in all, gzipped, [bytes]. Own: a second on a poor shop Wi-Fi."""


def test_sentences_and_ages_come_out_as_in_the_shell(node_modules: Path) -> None:
    done = subprocess.run(
        ["npm", "test", "--silent"], cwd=WEB, capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stdout + done.stderr
    ran = re.search(r"pass (\d+)", done.stdout)
    assert ran is not None
    assert int(ran[1]) > 40


def test_the_page_keeps_to_its_types(node_modules: Path) -> None:
    compiler = node_modules / "typescript/bin/tsc"
    if not compiler.exists():
        skip_loudly("TypeScript is missing: `npm --prefix web ci`")
    done = subprocess.run(
        ["node", str(compiler), "--noEmit"], cwd=WEB, capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stdout


def test_the_types_are_those_the_service_gives_today(node_modules: Path, tmp_path: Path) -> None:
    generator = node_modules / "openapi-typescript/bin/cli.js"
    if not generator.exists():
        skip_loudly("openapi-typescript is missing: `npm --prefix web ci`")
    described, made = tmp_path / "api.json", tmp_path / "schema.ts"
    described.write_text(json.dumps(openapi_schema()))
    command = ["node", str(generator), str(described), "-o", str(made), "--export-type"]
    subprocess.run(command, cwd=WEB, capture_output=True, check=True)
    assert made.read_text() == (WEB / "src/schema.ts").read_text(), (
        "the API has changed: `npm --prefix web run types`"
    )


def test_the_page_weighs_no_more_than_its_budget(dist: Path) -> None:
    files = [path for path in dist.rglob("*") if path.is_file()]
    weight = sum(len(gzip.compress(path.read_bytes(), 9)) for path in files)
    assert 10_000 < weight <= BUDGET
