"""Plans wears and fingersticks and works out what a plan can tell; never reads a value, never saves anything."""
