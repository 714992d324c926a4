# Reproduces the Wilson and exact intervals quoted in tests/outside/test_proportions.py. The quoted figures came from R 4.2.2;
# this script was written beside them and has not been run where the tests were written (no R there).
for (case in list(c(81, 263), c(15, 148), c(0, 20), c(1, 29))) {
  print(round(prop.test(case[1], case[2], correct = FALSE)$conf.int, 4))
  print(round(binom.test(case[1], case[2])$conf.int, 4))
}
print(round(binom.test(4, 20, conf.level = 0.90)$conf.int, 6))
print(round(binom.test(90, 100, alternative = "greater")$conf.int, 6))
