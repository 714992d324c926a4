"""The trial file: open, read all, one write transaction, migrations, history and undo. The only room that speaks SQL; it never interprets a record."""
