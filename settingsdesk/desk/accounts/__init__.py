"""Who may come in: clubs, coaches, passwords, sign-ins, tries in vain."""
