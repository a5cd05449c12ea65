# Prints the reference values of tests/published/lives/lives.hpp.
#   Rscript values.R < cosmesis.txt        (R 4.2.2, survival 3.5-3)
# Weibull: survreg; bounds: the profile of the same likelihood by optimise and uniroot; Turnbull's
# curve: survfit, iterated on until its shares stand still, since survfit stops early.
library(survival)

log_lik <- function(s, w, scale, shape) {  # s: columns lower, upper (upper = lower: exact)
  p <- function(t) pweibull(t, shape, scale, lower.tail = FALSE)
  ll <- ifelse(s$lower == s$upper, dweibull(s$lower, shape, scale, log = TRUE),
               log(p(s$lower) - ifelse(is.finite(s$upper), p(s$upper), 0)))
  sum(w * ll)
}

bounds <- function(s, w, scale, shape) {
  best <- log_lik(s, w, scale, shape)
  q <- qchisq(0.95, 1) / 2
  c10 <- -log(0.9)
  inner <- list(
    shape = function(v) optimise(function(m) log_lik(s, w, exp(m), exp(v)), log(scale) + c(-3, 3), maximum = TRUE, tol = 1e-10)$objective,
    scale = function(v) optimise(function(b) log_lik(s, w, exp(v), exp(b)), log(shape) + c(-2, 2), maximum = TRUE, tol = 1e-10)$objective,
    tenth = function(v) optimise(function(b) log_lik(s, w, exp(v - exp(-b) * log(c10)), exp(b)), log(shape) + c(-2, 2), maximum = TRUE, tol = 1e-10)$objective)
  at <- list(shape = log(shape), scale = log(scale), tenth = log(scale * c10^(1 / shape)))
  for (n in names(inner)) {
    f <- function(v) best - inner[[n]](v) - q
    cat(sprintf("  %s %.10g  [%.8g, %.8g]\n", n, exp(at[[n]]),
                exp(uniroot(f, at[[n]] + c(-2, 0), tol = 1e-11)$root), exp(uniroot(f, at[[n]] + c(0, 2), tol = 1e-11)$root)))
  }
}

report <- function(name, lower, upper, w = rep(1, length(lower))) {
  keep <- w > 0; lower <- lower[keep]; upper <- upper[keep]; w <- w[keep]
  s <- data.frame(lower, upper)
  y <- Surv(ifelse(lower == 0, NA, lower), ifelse(is.finite(upper), upper, NA), type = "interval2")
  f <- survreg(y ~ 1, weights = w, dist = "weibull", control = survreg.control(rel.tolerance = 1e-12, maxiter = 100))
  cat(sprintf("%s: n %g, ln L %.10g\n", name, sum(w), f$loglik[1]))
  bounds(s, w, exp(coef(f)[[1]]), 1 / f$scale)
  invisible(y)
}

turnbull <- function(name, lower, upper, w = rep(1, length(lower))) {
  keep <- w > 0; lower <- lower[keep]; upper <- upper[keep]; w <- w[keep]
  # innermost stretches, all lives half open
  ends <- rbind(data.frame(v = lower, open = 1), data.frame(v = upper, open = 0))
  ends <- ends[order(ends$v, ends$open), ]
  i <- which(ends$open[-nrow(ends)] == 1 & ends$open[-1] == 0)
  a <- ends$v[i]; b <- ends$v[i + 1]
  inside <- outer(seq_along(lower), seq_along(a), function(x, j) lower[x] <= a[j] & b[j] <= upper[x]) * w / w
  p <- rep(1 / length(a), length(a))
  for (k in 1:200000) {
    q <- colSums(w * inside * rep(p, each = length(w)) / as.vector(inside %*% p)) / sum(w)
    if (max(abs(q - p)) < 1e-14) break
    p <- q
  }
  y <- Surv(ifelse(lower == 0, NA, lower), ifelse(is.finite(upper), upper, NA), type = "interval2")
  f <- survfit(y ~ 1, weights = w)
  cat(sprintf("%s curve: ln L %.10g, survfit's shares differ by %.2g at most\n", name,
              sum(w * log(inside %*% p)),
              max(abs(cumsum(p)[p > 1e-9 & is.finite(b)] - (1 - f$surv[findInterval(b[p > 1e-9 & is.finite(b)], f$time)])))))
  for (j in which(p > 1e-9)) cat(sprintf("  {%g, %g, %.8f},\n", a[j], b[j], p[j]))
}

n <- c(cracks$fail, 167 - sum(cracks$fail))
lo <- c(0, cracks$days); hi <- c(cracks$days, Inf)
report("cracks", lo, hi, n); turnbull("cracks", lo, hi, n)

lo <- c(rep(0, nrow(turbine)), turbine$hours); hi <- c(turbine$hours, rep(Inf, nrow(turbine)))
n <- c(turbine$failed, turbine$inspected - turbine$failed)
report("turbine", lo, hi, n); turnbull("turbine", lo, hi, n)

report("genfan", genfan$hours, ifelse(genfan$status == 1, genfan$hours, Inf))
report("ovarian", ovarian$futime, ifelse(ovarian$fustat == 1, ovarian$futime, Inf))

cosmesis <- read.table(file("stdin"), col.names = c("lower", "upper", "chemotherapy"))
cosmesis$upper[cosmesis$upper == 100] <- Inf
for (arm in 0:1) with(subset(cosmesis, chemotherapy == arm), {
  report(paste("cosmesis", arm), lower, upper); turnbull(paste("cosmesis", arm), lower, upper)
})

# Two causes: plasma cell malignancy or death, whichever came first.
m <- mgus
first <- ifelse(is.na(m$pctime), m$futime, m$pctime)
by <- ifelse(is.na(m$pctime), ifelse(m$death == 1, 2, 0), 1)
for (cause in 1:2) report(paste("mgus cause", cause), first, ifelse(by == cause, first, Inf))
cat(paste0("{", first, ",", by, "}", collapse = ","), "\n")
