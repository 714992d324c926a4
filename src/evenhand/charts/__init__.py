"""One function per picture; computes no statistic."""
