# Writes the grid of values in this folder: values.csv (one value a line) and the data
# they were computed from (times.csv, sample.csv, pairs.csv).
#
#   Rscript grid.R          (Debian: r-base-core and r-cran-survival)
#
# The tests read the CSV files; they need no R. Half the arguments of the
# distributions lie in the tails, where control limits live.

out <- data.frame()
add <- function(family, what, a = NA, b = NA, c = NA, d = NA, value)
  out <<- rbind(out, data.frame(family = family, what = what, a = a, b = b, c = c, d = d, value = value))

# Distributions -------------------------------------------------------------------------
for (x in c(-37, -20, -8, -5, -3.1, -3, -1.96, -1, -0.3, 0, 0.5, 1.2)) {
  add("normal", "cdf", x, value = pnorm(x))
  add("normal", "tail", -x, value = pnorm(-x, lower.tail = FALSE))
}
for (p in c(1e-300, 1e-40, 1e-12, 1e-6, 0.00135, 0.025, 0.1, 0.3, 0.5, 0.77, 0.975, 0.99865))
  add("normal", "quantile", p, value = qnorm(p))

for (np in list(c(11, .39), c(15, .06), c(40, .5), c(250, .1052), c(312, .0021), c(5000, .5124), c(70000, .0003))) {
  n <- np[1]; p <- np[2]
  add("binomial", "quantile", .00135, n, p, value = qbinom(.00135, n, p))
  add("binomial", "quantile", .99865, n, p, value = qbinom(.99865, n, p))
  add("binomial", "quantile", 1e-9, n, p, value = qbinom(1e-9, n, p))
  for (q in c(1e-8, .01, .6)) {
    k <- qbinom(q, n, p); add("binomial", "cdf", k, n, p, value = pbinom(k, n, p))
    k <- qbinom(1 - q / 10, n, p); add("binomial", "tail", k, n, p, value = pbinom(k, n, p, lower.tail = FALSE))
  }
  add("binomial", "pmf", floor(n * p), n, p, value = dbinom(floor(n * p), n, p))
}
for (m in c(.05, .7, 3.3, 9.8, 47, 288.8, 12000)) {
  for (q in c(1e-9, .00135, .5, .99865, 1 - 1e-9)) add("poisson", "quantile", q, m, value = qpois(q, m))
  for (q in c(1e-10, .01, .6)) {
    k <- qpois(q, m); add("poisson", "cdf", k, m, value = ppois(k, m))
    k <- qpois(1 - q / 10, m); add("poisson", "tail", k, m, value = ppois(k, m, lower.tail = FALSE))
  }
}
for (p in c(.0021, .0172, .1253, .5)) {
  for (q in c(1e-6, .00135, .5, .99865, 1 - 1e-10)) add("geometric", "quantile", q, p, value = qgeom(q, p))
  for (k in c(0, 3, 40, 700)) {
    add("geometric", "cdf", k, p, value = pgeom(k, p))
    add("geometric", "tail", k, p, value = pgeom(k, p, lower.tail = FALSE))
  }
}
for (ab in list(c(1, 1), c(.5, .5), c(3, 12), c(15, 134), c(82, 183), c(1, 500), c(4000, 4100))) {
  a <- ab[1]; b <- ab[2]
  for (q in c(1e-12, .00135, .025, .5, .975, .99865)) add("beta", "quantile", q, a, b, value = qbeta(q, a, b))
  for (q in c(1e-9, .025, .7)) { x <- qbeta(q, a, b); add("beta", "cdf", x, a, b, value = pbeta(x, a, b)) }
}
for (df in c(1, 2, 5, 8, 41, 250, 20000)) {
  for (q in c(1e-12, .00135, .025, .5, .975, .99865)) add("chisq", "quantile", q, df, value = qchisq(q, df))
  for (q in c(1e-9, .02, .7)) {
    x <- qchisq(q, df); add("chisq", "cdf", x, df, value = pchisq(x, df))
    x <- qchisq(q, df, lower.tail = FALSE); add("chisq", "tail", x, df, value = pchisq(x, df, lower.tail = FALSE))
  }
}
for (h in list(c(0, 4, 8, 4), c(3, 4, 8, 4), c(1, 12, 24, 10), c(11, 40, 500, 60), c(0, 30, 3000, 900),
               c(0, 7, 16, 7), c(7, 12, 24, 7), c(2, 90, 180, 5), c(30, 60, 120, 55), c(44, 45, 90, 60), c(1, 15, 40000, 300),
               c(9, 15, 4000, 300), c(60, 60, 200, 120), c(250, 500, 1000, 500), c(310, 500, 1000, 500), c(5, 5, 10, 5),
               c(18, 263, 411, 81), c(81, 263, 411, 81), c(40, 263, 411, 81), c(25, 59, 189, 74)))
  add("hypergeometric", "pmf", h[1], h[2], h[3], h[4], value = dhyper(h[1], h[2], h[3] - h[2], h[4]))

# Intervals -----------------------------------------------------------------------------
for (xn in list(c(0, 11), c(1, 11), c(5, 11), c(11, 11), c(3, 40), c(60, 500), c(63, 490), c(2, 3000))) {
  for (level in c(.95, .998)) {
    ci <- binom.test(xn[1], xn[2], conf.level = level)$conf.int
    add("clopper-pearson", c("lower", "upper"), xn[1], xn[2], level, value = c(ci[1], ci[2]))
    ci <- suppressWarnings(prop.test(xn[1], xn[2], conf.level = level, correct = FALSE))$conf.int
    add("wilson", c("lower", "upper"), xn[1], xn[2], level, value = c(ci[1], ci[2]))
  }
}
for (x in c(0, 1, 2, 7, 31, 196, 4005)) for (level in c(.95, .998)) {
  ci <- poisson.test(x, conf.level = level)$conf.int
  add("garwood", c("lower", "upper"), x, level, value = c(ci[1], ci[2]))
}

# Quantiles -----------------------------------------------------------------------------
sample <- c(34, 41, 41, 48, 52, 57, 60, 60, 66, 69, 75, 84, 90, 110, 152, 233, 260)
write.csv(data.frame(value = sample), "sample.csv", row.names = FALSE)
for (type in 1:9) for (p in c(.1, .25, .5, .9)) add("quantile", "type", type, p, value = quantile(sample, p, type = type, names = FALSE))

# Times to an end: a small linear congruential generator, so that the data do not depend
# on the version of R ---------------------------------------------------------------------
seed <- 20
u <- function() { seed <<- (seed * 16807) %% 2147483647; seed / 2147483647 }
times <- data.frame()
for (g in 1:3) for (i in 1:35) {
  sign <- -log(u()) * c(60, 45, 80)[g]; airway <- -log(u()) * 120; stop <- 40 + u() * 160
  at <- ceiling(min(sign, airway, stop) / 5) * 5
  cause <- which.min(c(sign, airway, stop)); if (cause == 3) cause <- 0
  times <- rbind(times, data.frame(group = g, at = at, cause = cause))
}
write.csv(times, "times.csv", row.names = FALSE)
library(survival)
grid <- c(10, 20, 30, 45, 60, 90, 120, 150)
for (g in 1:3) {
  d <- subset(times, group == g)
  for (type in c("log", "log-log")) {
    s <- summary(survfit(Surv(at, cause == 1) ~ 1, data = d, conf.type = type), times = grid, extend = TRUE)
    if (type == "log") for (i in seq_along(s$time)) {
      add("kaplan-meier", "share", g, s$time[i], value = s$surv[i])
      if (s$surv[i] > 0) add("kaplan-meier", "se", g, s$time[i], value = s$std.err[i])
    }
    for (i in seq_along(s$time)) if (s$surv[i] > 0 && s$surv[i] < 1) {
      add("kaplan-meier", paste(type, "lower"), g, s$time[i], value = s$lower[i])
      add("kaplan-meier", paste(type, "upper"), g, s$time[i], value = s$upper[i])
    }
  }
  # Cumulative incidence as the first row of the Aalen-Johansen matrix, with the variance
  # carried forward as a full covariance matrix of the state shares (multinomial steps).
  state <- c(1, 0, 0); covariance <- matrix(0, 3, 3)
  for (t in sort(unique(d$at[d$cause > 0]))) {
    n <- sum(d$at >= t); d1 <- sum(d$at == t & d$cause == 1); d2 <- sum(d$at == t & d$cause == 2)
    step <- diag(3); step[1, ] <- c(1 - (d1 + d2) / n, d1 / n, d2 / n)
    p <- step[1, ]
    noise <- (diag(p) - p %*% t(p)) / n
    covariance <- t(step) %*% covariance %*% step + state[1]^2 * noise
    state <- as.vector(state %*% step)
    if (t %in% grid) for (k in 1:2) {
      add("incidence", "share", g, t, k, value = state[k + 1])
      add("incidence", "se", g, t, k, value = sqrt(covariance[k + 1, k + 1]))
    }
  }
  m <- summary(survfit(Surv(at, factor(cause, 0:2)) ~ 1, data = d), times = grid, extend = TRUE)
  for (i in seq_along(m$time)) for (k in 1:2) add("incidence", "survfit share", g, m$time[i], k, value = m$pstate[i, k + 1])
}
for (rho in c(0, 1)) {
  s <- survdiff(Surv(at, cause == 1) ~ group, data = times, rho = rho)
  add("log-rank", "three groups", rho, value = s$chisq)
  for (pair in list(c(1, 2), c(1, 3), c(2, 3))) for (k in 1:2) {
    d <- subset(times, group %in% pair); d$event <- d$cause == k
    s <- survdiff(Surv(at, event) ~ group, data = d, rho = rho)
    add("log-rank", "chisq", rho, pair[1], pair[2], k, value = s$chisq)
    add("log-rank", "observed", rho, pair[1], pair[2], k, value = s$obs[1])
    add("log-rank", "expected", rho, pair[1], pair[2], k, value = s$exp[1])
  }
}

# Ranks and tables ----------------------------------------------------------------------
pairs <- data.frame(set = rep(1:5, c(9, 12, 20, 31, 45)), value = 0, group = 0)
for (i in seq_len(nrow(pairs))) {
  pairs$group[i] <- 1 + (u() < .45)
  pairs$value[i] <- round(1000 * u() + 250 * (pairs$group[i] == 2)) + i / 1000 # no ties
}
write.csv(pairs, "pairs.csv", row.names = FALSE)
for (set in 1:5) {
  x <- pairs$value[pairs$set == set & pairs$group == 1]; y <- pairs$value[pairs$set == set & pairs$group == 2]
  w <- wilcox.test(x, y, exact = TRUE, conf.int = TRUE)
  add("ranks", c("w", "p", "shift", "lower", "upper"), set, value = c(w$statistic, w$p.value, w$estimate, w$conf.int))
  add("ranks", "greater", set, value = wilcox.test(x, y, exact = TRUE, alternative = "greater")$p.value)
}
for (t in list(c(3, 8, 7, 4), c(0, 11, 4, 30), c(12, 40, 5, 61), c(2, 2, 9, 900), c(31, 80, 55, 90))) {
  m <- matrix(t, 2, byrow = TRUE)
  f <- fisher.test(m)
  add("table", c("fisher", "pearson", "yates"), t[1], t[2], t[3], t[4], value = c(f$p.value,
    suppressWarnings(chisq.test(m, correct = FALSE))$statistic, suppressWarnings(chisq.test(m, correct = TRUE))$statistic))
  add("table", "fisher greater", t[1], t[2], t[3], t[4], value = fisher.test(m, alternative = "greater")$p.value)
}

for (k in c("a", "b", "c", "d", "value")) out[[k]] <- ifelse(is.na(out[[k]]), NA, sprintf("%.17g", out[[k]]))
write.csv(out, "values.csv", row.names = FALSE, na = "", quote = c(1, 2))
cat(nrow(out), "values\n"); print(table(out$family))
