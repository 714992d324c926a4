"""The commands: parse, call desk, show. Never computes and never touches the trial file itself."""
