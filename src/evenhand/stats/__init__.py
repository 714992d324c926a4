"""Statistics on arrays, without a glucose word. Never sees a record, a file or a clock."""
