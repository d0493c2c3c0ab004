"""`pondwright serve` as a person starts it: the address, the folder, and what it refuses."""

import re
import signal
import socket
import subprocess
import sys
from pathlib import Path

import httpx
import pytest

from pondwright.cli import serve
from pondwright.cli.main import main
from pondwright.store import job_cards, open_store, set_card


@pytest.fixture
def started(tmp_path):
    """Starts the command in a folder; gives the process and the first line that it prints."""
    running = []

    def start(*options):
        process = subprocess.Popen(
            [sys.executable, "-u", "-m", "pondwright", "serve", "--data", tmp_path, "--port", "0", *options],
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
        )
        running.append(process)
        return process, process.stdout.readline()

    yield start
    for process in running:
        process.kill()
        process.communicate()


def test_it_prints_the_address_at_which_it_answers(started, tmp_path):
    process, line = started()
    address = re.search(r"http://127\.0\.0\.1:\d+/", line)[0]

    assert httpx.get(f"{address}api/jobs", trust_env=False).json() == []
    assert str(tmp_path / "jobs.sqlite") in line

    process.send_signal(signal.SIGINT)
    assert process.wait(timeout=30) in (0, -signal.SIGINT, 130)
    assert "Traceback" not in process.stderr.read()


def test_the_example_is_put_on_an_empty_shelf_once(started, tmp_path):
    for _time in range(2):
        process, line = started("--open-example")
        address, job_id = re.search(r"(http://127\.0\.0\.1:\d+)/#/job/([0-9a-f]{16})/plan", line).groups()
        cards = httpx.get(f"{address}/api/jobs", trust_env=False).json()
        assert [(card["id"], card["name"]) for card in cards] == [(job_id, "Larkmeadow")]
        process.kill()
        process.wait()


def test_a_port_that_is_taken_is_told_in_one_sentence(tmp_path, capsys):
    with socket.socket() as other:
        other.bind(("127.0.0.1", 0))
        other.listen()
        port = other.getsockname()[1]

        code = main(["serve", "--data", str(tmp_path), "--port", str(port)])

    said = capsys.readouterr().err
    assert code == 2 and said.count("\n") == 1
    assert said.startswith(f"pondwright: port {port} cannot be used")


@pytest.mark.parametrize("host", ["0.0.0.0", "::", "192.168.1.7", "pond.example", ""])
def test_another_host_than_this_machine_is_refused(tmp_path, capsys, host):
    code = main(["serve", "--data", str(tmp_path), "--host", host])

    said = capsys.readouterr().err
    assert code == 2 and said.count("\n") == 1 and "this machine only" in said
    assert not list(tmp_path.iterdir())


def test_a_folder_that_holds_something_else_is_told(tmp_path, capsys):
    (tmp_path / serve.STORE).write_text("no database at all " * 100)

    assert main(["serve", "--data", str(tmp_path), "--port", "0"]) == 2

    assert "is not a store of pondwright" in capsys.readouterr().err


def test_the_folder_is_the_one_told_or_the_users_own(monkeypatch, tmp_path):
    monkeypatch.setenv(serve.DATA, str(tmp_path / "told"))
    assert serve.data_folder() == tmp_path / "told"

    monkeypatch.delenv(serve.DATA)
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "share"))
    assert serve.data_folder() == tmp_path / "share" / "pondwright"

    monkeypatch.delenv("XDG_DATA_HOME")
    monkeypatch.setenv("HOME", str(tmp_path))
    assert serve.data_folder() == Path(tmp_path, ".local", "share", "pondwright")


def test_an_archived_example_is_not_put_there_again(tmp_path):
    file = tmp_path / "jobs.sqlite"
    first = serve._example_on_shelf(file)
    store = open_store(file)
    set_card(store, first, archived=True)

    assert serve._example_on_shelf(file) == first and job_cards(store) == ()
    store.close()
