"""The athletes and what each wants: settings, version by version."""
