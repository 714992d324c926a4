"""Every sentence a user reads, in one catalogue. Computes nothing."""
