"""How a result is shown: terminal and JSON; nothing is computed here."""
