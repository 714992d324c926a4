"""What is made for others to read. Computes no statistic."""
