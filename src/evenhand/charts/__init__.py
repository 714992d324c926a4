"""One function per picture: from findings and trial to a figure, its title and its words. Computes no statistic."""
