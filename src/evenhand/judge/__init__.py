"""Trial in, Findings out: runs every measurement once and concludes. Never computes a statistic of its own and never words a page."""
