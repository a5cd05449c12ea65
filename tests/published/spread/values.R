# Prints the reference values of tests/trace/crossed_effects_test.cpp and the data of mixed.hpp.
#   Rscript values.R        (R 4.2.2, lme4 1.1-31)
# Fits: lmer with REML. Intervals: the profile of the restricted likelihood itself, written out with
# the readings' whole covariance matrix (lme4's own profiles are of the other likelihood).
library(lme4)
# As fine as doubles let it: by default lmer stops within 1e-4 of a variance.
lmer <- function(...) lme4::lmer(..., control = lmerControl(optimizer = "bobyqa", optCtrl = list(rhobeg = 0.2, rhoend = 1e-12, maxfun = 1e5)))

criterion <- function(deviations, y, groups) {  # deviations of the groups, then of the residual
  n <- length(y); k <- length(groups)
  v <- diag(deviations[k + 1]^2, n)
  for (i in seq_len(k)) v <- v + deviations[i]^2 * outer(groups[[i]], groups[[i]], `==`)
  x <- matrix(1, n, 1); c <- chol(v); a <- backsolve(c, x, transpose = TRUE); b <- backsolve(c, y, transpose = TRUE)
  xx <- crossprod(a); beta <- solve(xx, crossprod(a, b))
  2 * sum(log(diag(c))) + log(det(xx)) + sum((b - a %*% beta)^2) + (n - 1) * log(2 * pi)
}

interval <- function(y, groups, at, best, j, level) {
  others <- function(value) {
    f <- function(p) { d <- at; d[j] <- value; d[-j] <- exp(p); criterion(d, y, groups) }
    start <- log(pmax(at[-j], 1e-3))
    if (length(start) == 1) optimise(f, start + c(-6, 6), tol = 1e-10)$objective
    else optim(start, f, method = "L-BFGS-B", lower = start - 8, upper = start + 5, control = list(factr = 10, maxit = 500))$value
  }
  rise <- function(value) others(value) - best - qchisq(level, 1)
  low <- if (j < length(at) && (at[j] == 0 || rise(at[length(at)] * 1e-6) < 0)) 0 else uniroot(rise, c(at[j] * (if (j == length(at)) 0.4 else 1e-3), at[j]), tol = 1e-9)$root
  high <- uniroot(rise, c(at[j], 10 * max(at)), tol = 1e-9)$root
  c(low, high)^2
}

show <- function(name, m, y, groups, level = 0.95) {
  v <- as.data.frame(VarCorr(m)); at <- v$sdcor; best <- criterion(at, y, groups)
  cat(sprintf("%s: criterion %.9g (written out %.9g), mean %.9g\n", name, REMLcrit(m), best, fixef(m)))
  for (j in seq_along(at)) {
    i <- interval(y, groups, at, best, j, level)
    cat(sprintf("  %s %.8g [%.6g, %.6g]\n", v$grp[j], v$vcov[j], i[1], i[2]))
  }
}

show("Dyestuff", m <- lmer(Yield ~ 1 + (1 | Batch), Dyestuff), Dyestuff$Yield, list(Dyestuff$Batch))
r <- ranef(m, condVar = TRUE)$Batch
cat("  effects", sprintf("%.6f", r[[1]]), "\n  deviation", sprintf("%.6f", sqrt(attr(r, "postVar")[1])), "\n")
show("Dyestuff2", lmer(Yield ~ 1 + (1 | Batch), Dyestuff2), Dyestuff2$Yield, list(Dyestuff2$Batch))
show("Pastes", lmer(strength ~ 1 + (1 | sample) + (1 | batch), Pastes), Pastes$strength, list(Pastes$sample, Pastes$batch))
show("Penicillin", lmer(diameter ~ 1 + (1 | plate) + (1 | sample), Penicillin), Penicillin$diameter, list(Penicillin$plate, Penicillin$sample))

rows <- function(name, f) {
  cat(name, "\n")
  cat(strwrap(paste0("{", apply(sapply(f, function(c) format(if (is.factor(c)) as.integer(c) - 1 else c, trim = TRUE)), 1, paste, collapse = ",~"), "}", collapse = ", "), 96), sep = "\n")
}
rows("Dyestuff", Dyestuff[c("Batch", "Yield")])
rows("Dyestuff2", Dyestuff2[c("Batch", "Yield")])
rows("Pastes", Pastes[c("sample", "batch", "strength")])
rows("Penicillin", Penicillin[c("plate", "sample", "diameter")])
