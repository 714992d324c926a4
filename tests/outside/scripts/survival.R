# Reproduces the Kaplan-Meier rows and medians quoted in tests/outside/test_survival.py. The quoted figures came from R 4.2.2;
# this script was written beside them and has not been run where the tests were written (no R there).
library(survival)
fit <- survfit(Surv(time, cens) ~ treat, data = MASS::gehan)
print(summary(fit))
print(fit)
