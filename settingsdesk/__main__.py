"""``python -m settingsdesk`` is the command ``settingsdesk``."""

from settingsdesk.cli import main

main()
