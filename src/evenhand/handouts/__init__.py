"""What is made for others to read: whole pages from findings, words and pictures. Computes no statistic."""
