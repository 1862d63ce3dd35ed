"""What is looked at whenever a desk is opened, before anybody works at it."""

from settingsdesk.config import DataFolder
from settingsdesk.desk.cards import card_keys
from settingsdesk.desk.meets import erasing
from settingsdesk.store.work import Store


def make_ready(store: Store, data: DataFolder) -> None:
    """See that the key of the cards is there, and erase again whom an older copy brought back.

    ``CardKeyLost`` or ``CardKeyIsAnother``, and nothing is changed then.
    """
    card_keys.must_fit(store, data)
    erasing.erase_again(store)
