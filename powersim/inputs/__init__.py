"""From the sailor's files to records: every reader, its messages, and the only use of pint."""
