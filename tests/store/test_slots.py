"""The two-slot file: writes that break off anywhere, full disks, files of others."""

import errno
import os
import stat
import subprocess
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from registry.store.errors import KnownError
from registry.store.slots import MAGIC, SlotFile, sync_folder

SIZE = 96


def saved(path: Path, *data: bytes) -> bytes:
    """The bytes of the file after each of `data` was saved in it; without waiting for the disk."""
    if not path.exists():
        path.write_bytes(bytes(2 * SIZE))
    with SlotFile.open(path, SIZE) as file:
        for one in data:
            file.save(one, sync=False)
    return path.read_bytes()


def loaded(path: Path) -> bytes | None:
    with SlotFile.open(path, SIZE) as file:
        return file.load()


def code_of(error: pytest.ExceptionInfo[KnownError]) -> str:
    return error.value.code


def test_a_new_file_holds_nothing_and_takes_all_its_room(tmp_path: Path) -> None:
    path = tmp_path / "slots"
    assert loaded(path) is None
    assert path.read_bytes() == bytes(2 * SIZE)
    assert path.stat().st_blocks * 512 >= 2 * SIZE  # real room, not a hole
    assert stat.S_IMODE(path.stat().st_mode) & 0o077 == 0


def test_the_newest_counts_and_the_file_never_grows(tmp_path: Path) -> None:
    path = tmp_path / "slots"
    with SlotFile.open(path, SIZE) as file:
        for number in range(50):
            data = (f"{number} ".encode() * file.room)[: number * 7 % (file.room + 1)]
            file.save(data)
            assert file.load() == data
            assert path.stat().st_size == 2 * SIZE
    assert loaded(path) == data


def test_nothing_saved_is_not_an_empty_save(tmp_path: Path) -> None:
    path = tmp_path / "slots"
    saved(path, b"one", b"")
    assert loaded(path) == b""


@pytest.mark.parametrize("before", [(), (b"one",), (b"one", b"the second"), (b"one", b"second", b"a longer third")])
@pytest.mark.parametrize("from_the_end", [False, True])
def test_a_write_that_breaks_off_at_any_byte_leaves_the_one_before(
    tmp_path: Path, before: tuple[bytes, ...], from_the_end: bool
) -> None:
    path = tmp_path / "slots"
    old = saved(path, *before)
    new = saved(path, b"what was being saved")
    previous = before[-1] if before else None
    seen = set()
    for cut in range(len(old) + 1):
        path.write_bytes(old[:cut] + new[cut:] if from_the_end else new[:cut] + old[cut:])
        found = loaded(path)
        # Either the write is whole, or what was there before stands.
        assert found == (b"what was being saved" if path.read_bytes() == new else previous)
        seen.add(found)
        saved(path, b"next")
        assert loaded(path) == b"next"
    assert seen == {previous, b"what was being saved"}


@given(st.binary(min_size=1, max_size=60), st.data())
def test_a_spoilt_byte_never_gives_other_data(
    tmp_path_factory: pytest.TempPathFactory, data: bytes, draw: st.DataObject
) -> None:
    path = tmp_path_factory.mktemp("slots") / "slots"
    raw = bytearray(saved(path, b"one", data))
    where = draw.draw(st.integers(SIZE, 2 * SIZE - 1))  # in the slot of the newest
    raw[where] ^= draw.draw(st.integers(1, 255))
    path.write_bytes(raw)
    assert loaded(path) == (data if where >= SIZE + 24 + len(data) else b"one")


def test_making_the_file_may_break_off_anywhere(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(os, "fsync", lambda descriptor: None)  # 192 times would take seconds
    path = tmp_path / "slots"
    for size in range(2 * SIZE):
        path.write_bytes(bytes(size))
        assert loaded(path) is None
        assert path.stat().st_size == 2 * SIZE


def test_two_programs_take_turns(tmp_path: Path) -> None:
    path = tmp_path / "slots"
    with SlotFile.open(path, SIZE) as one, SlotFile.open(path, SIZE) as other:
        for number in range(10):
            for file in (one, other):
                file.save(f"{number}".encode())
                assert other.load() == one.load() == f"{number}".encode()


def test_alone_means_alone(tmp_path: Path) -> None:
    path = tmp_path / "slots"
    with SlotFile.open(path, SIZE, alone=True), pytest.raises(KnownError) as caught:
        SlotFile.open(path, SIZE, alone=True)
    assert code_of(caught) == "locked"
    with SlotFile.open(path, SIZE, alone=True) as file:
        assert file.load() is None


def test_too_much_is_refused_and_the_one_before_stands(tmp_path: Path) -> None:
    path = tmp_path / "slots"
    with SlotFile.open(path, SIZE) as file:
        file.save(b"one")
        file.save(b"x" * file.room)
        with pytest.raises(KnownError) as caught:
            file.save(b"y" * (file.room + 1))
        assert caught.value.code == "draft_too_large"
        assert caught.value.values == {"length": file.room + 1, "limit": file.room}
        assert file.load() == b"x" * file.room


def test_somebody_elses_file_is_left_as_it_was(tmp_path: Path) -> None:
    path = tmp_path / "letter.txt"
    path.write_bytes(b"Dear customer")
    with pytest.raises(KnownError) as caught:
        SlotFile.open(path, SIZE)
    assert code_of(caught) == "not_ours"
    assert path.read_bytes() == b"Dear customer"


def test_a_newer_programs_file_is_left_as_it_was(tmp_path: Path) -> None:
    path = tmp_path / "slots"
    path.write_bytes(MAGIC[:-1] + b"2" + bytes(500))
    with pytest.raises(KnownError) as caught:
        SlotFile.open(path, SIZE)
    assert code_of(caught) == "newer_file"


def test_no_such_folder(tmp_path: Path) -> None:
    with pytest.raises(KnownError) as caught:
        SlotFile.open(tmp_path / "nowhere" / "slots", SIZE)
    assert code_of(caught) == "wrong_place"


def test_reading_only_makes_and_changes_nothing(tmp_path: Path) -> None:
    path = tmp_path / "slots"
    with pytest.raises(KnownError):
        SlotFile.open(path, SIZE, read_only=True)
    assert not path.exists()
    before = saved(path, b"one")
    with SlotFile.open(path, SIZE, read_only=True) as file:
        assert file.load() == b"one"
    assert path.read_bytes() == before


def test_short_writes_are_carried_on(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    write = os.pwrite
    monkeypatch.setattr(os, "pwrite", lambda fd, data, offset: write(fd, data[:7], offset))
    saved(tmp_path / "slots", b"one", b"a text that takes several writes")
    assert loaded(tmp_path / "slots") == b"a text that takes several writes"


@pytest.mark.parametrize(
    ("number", "code"), [(errno.ENOSPC, "disk_full"), (errno.EIO, "disk_failing"), (errno.EROFS, "read_only")]
)
@pytest.mark.parametrize("call", ["pwrite", "fsync"])
def test_trouble_while_making_it_has_a_name_and_gives_the_room_back(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, number: int, code: str, call: str
) -> None:
    def fail(*_: object) -> None:
        raise OSError(number, "as the system says")

    path = tmp_path / "slots"
    with monkeypatch.context() as patch:
        patch.setattr(os, call, fail)
        with pytest.raises(KnownError) as caught:
            SlotFile.open(path, SIZE)
    assert code_of(caught) == code
    assert path.stat().st_size == 0
    assert loaded(path) is None  # and it is made at the next try


def test_a_save_that_fails_keeps_the_one_before(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    write = os.pwrite

    def half(descriptor: int, data: bytes, offset: int) -> int:
        write(descriptor, data[:10], offset)
        raise OSError(errno.ENOSPC, "No space left on device")

    with SlotFile.open(tmp_path / "slots", SIZE) as file:
        file.save(b"one")
        with monkeypatch.context() as patch:
            patch.setattr(os, "pwrite", half)
            with pytest.raises(KnownError) as caught:
                file.save(b"two")
        assert code_of(caught) == "disk_full"
        assert file.load() == b"one"
        file.save(b"three")
        assert file.load() == b"three"


def test_a_disk_that_is_full_while_it_is_made(small_disk: Path) -> None:
    with pytest.raises(KnownError) as caught:
        SlotFile.open(small_disk / "slots", 1024 * 1024)
    assert code_of(caught) == "disk_full"
    (small_disk / "other").write_bytes(bytes(900_000))  # the room taken was given back


def test_a_disk_that_can_only_be_read(small_disk: Path) -> None:
    path = small_disk / "slots"
    saved(path, b"one")
    subprocess.run(["mount", "-o", "remount,ro", str(small_disk)], check=True)
    with pytest.raises(KnownError) as caught:
        SlotFile.open(path, SIZE)
    assert code_of(caught) == "read_only"
    with SlotFile.open(path, SIZE, read_only=True) as file:
        assert file.load() == b"one"


def test_a_folder_that_cannot_be_opened_is_told(tmp_path: Path) -> None:
    with pytest.raises(FileNotFoundError):
        sync_folder(tmp_path / "nowhere")
