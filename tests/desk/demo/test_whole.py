"""The demo is whole or not there, and can be begun again."""

from pathlib import Path

import pytest

from settingsdesk.config import DataFolder
from settingsdesk.desk.accounts.clubs import is_empty
from settingsdesk.desk.demo import meet, whole
from settingsdesk.resources import folder
from settingsdesk.store.migrate import upgraded


class CutOffError(Exception):
    pass


def test_where_it_was_cut_off_it_begins_again(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Somebody closes the lid while it is filled in, with the club made and its meet not yet."""
    data = DataFolder.at(tmp_path / "desk")
    upgraded(data.where).close()

    def cut_off(*_: object) -> None:
        raise CutOffError

    with monkeypatch.context() as lid:
        lid.setattr(meet, "hold", cut_off)
        with pytest.raises(CutOffError):
            whole.put(data, folder("seed"), "seven lanterns over wet slates")
    store = upgraded(data.where)
    assert is_empty(store)
    store.close()

    made, held = whole.put(data, folder("seed"), "seven lanterns over wet slates")
    store = upgraded(data.where)
    with store.work(made.club_id, writes=False) as session:
        assert [one.id for one in meet.meets.all_meets(session)] == [held.id]
    store.close()
    assert not list(data.path.glob("*.unfinished"))
