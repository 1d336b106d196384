import pytest

from service.demo.folder import FolderNotOurs, clear_records, open_folder


def test_a_new_folder_is_private_and_left_out_of_version_control(tmp_path):
    records = open_folder(tmp_path / "demo")
    assert records.parent.stat().st_mode & 0o077 == 0
    assert "*" in (records.parent / ".gitignore").read_text().splitlines()


def test_our_own_folder_is_opened_again(tmp_path):
    records = open_folder(tmp_path / "demo")
    records.write_text("of yesterday")
    assert open_folder(tmp_path / "demo") == records
    assert records.read_text() == "of yesterday"


def test_a_folder_with_other_things_is_left_alone(tmp_path):
    (tmp_path / "records.sqlite").write_text("somebody's own")
    with pytest.raises(FolderNotOurs):
        open_folder(tmp_path)
    assert [path.name for path in tmp_path.iterdir()] == ["records.sqlite"]


def test_clearing_takes_the_records_and_nothing_else(tmp_path):
    records = open_folder(tmp_path / "demo")
    for ending in ("", "-wal", "-shm", ".mine"):
        records.with_name(records.name + ending).write_text("x")
    clear_records(records)
    kept = {path.name for path in records.parent.iterdir()}
    assert kept == {".gitignore", "records.sqlite.mine"}
