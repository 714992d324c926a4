# Kaplan-Meier rows and medians of the 6-MP trial, as quoted in tests/outside/test_survival.py (R 4.2.2).
library(survival)
fit <- survfit(Surv(time, cens) ~ treat, data = MASS::gehan)
print(summary(fit))
print(fit)
