"""What a trial is: its records and the rules between them. Never reads a file, a clock or a database."""
