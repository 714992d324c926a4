"""One function per thing a person does; holds the only reader of the clock and the environment. Shows nothing."""
