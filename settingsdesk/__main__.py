"""``python -m settingsdesk`` is the command ``settingsdesk``.

While the program is read hardly anything becomes garbage, and all of it stays: to look through it
for garbage again and again was two fifths of the time until a command began, or a desk was served.
"""

import gc

gc.disable()

from settingsdesk.cli import main  # noqa: E402 -- this is what is read meanwhile

gc.freeze()
gc.enable()

if __name__ == "__main__":
    main()
