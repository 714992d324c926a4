"""Every sentence a user reads, in one catalogue: from findings to words. Computes no statistic, only rounds."""
