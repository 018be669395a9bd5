# Makes ../cases/dial.json: `Rscript dial.R > ../cases/dial.json` (Debian: r-cran-lme4, r-cran-pbkrtest).
# Three simulated seasons; every expected value is lme4's and pbkrtest's, from a row an arrow. Where arrows have
# unequal noise, rows are multiplied by the root of their weight, random effects included, so that the
# Kenward-Roger method sees one noise.
suppressMessages({
  library(lme4)
  library(pbkrtest)
})
options(digits = 15, warn = 1)

fitted_rows <- function(y, x, weight, session, end) {
  root <- sqrt(weight)
  colnames(x) <- paste0("x", seq_len(ncol(x)))
  d <- data.frame(y = y * root, x * root, root = root, session = session)
  random <- "(0 + root | session)"
  if (!is.null(end)) {
    d$end <- end
    random <- paste(random, "+ (0 + root | end)")
  }
  formula <- as.formula(paste("y ~ 0 +", paste(colnames(x), collapse = " + "), "+", random))
  tight <- lmerControl(optimizer = "bobyqa", optCtrl = list(maxfun = 1e5, rhoend = 1e-12), calc.derivs = FALSE)
  fit <- lmer(formula, d, REML = TRUE, control = tight)
  if (any(getME(fit, "theta") < 1e-3)) stop("a variance is zero: take another seed")
  fit
}

contrast <- function(fit, l, adjusted = vcovAdj(fit), dispersion = 1) {
  estimate <- sum(l * fixef(fit))
  se <- sqrt(as.numeric(t(l) %*% as.matrix(adjusted) %*% l) * dispersion)
  df <- get_Lb_ddf(fit, l)
  list(estimate = estimate, se = se, df = df, p = 2 * pt(-abs(estimate / se), df))
}

interval <- function(s) s$estimate + c(-1, 1) * qt(0.975, s$df) * s$se

unit <- function(p, n) replace(numeric(n), p, 1)

# Log variance of ends on the dial, its square and whatever else is in `others`, by state.
spread_of <- function(ends, others, square) {
  t2 <- trigamma(ends$df / 2)
  z <- log(ends$ss) - digamma(ends$df / 2) - log(2)
  x <- cbind(1, ends$dial, if (square) ends$dial^2, others)
  fit <- fitted_rows(z, x, 1 / t2, ends$session, NULL)
  list(fit = fit, x = x, adjusted = vcovAdj(fit), dispersion = max(sigma(fit)^2, 1) / sigma(fit)^2)
}

half <- function(s) { s$estimate <- s$estimate / 2; s$se <- s$se / 2; s }

spread_part <- function(curve, line, range) {
  n <- ncol(curve$x)
  c2 <- half(contrast(curve$fit, unit(3, n), curve$adjusted, curve$dispersion))
  b <- fixef(curve$fit)
  at <- unname(-b[2] / (2 * b[3]))
  out <- list(curvature_log_sd_per_unit2 = c2$estimate, curvature_interval = interval(c2),
              curvature_df = c2$df, curvature_p = c2$p)
  if (c2$estimate > 0 && c2$p < 0.05 && at >= range[1] && at <= range[2]) {
    p <- function(v) contrast(curve$fit, unit(2, n) + 2 * v * unit(3, n), curve$adjusted, curve$dispersion)$p - 0.05
    low <- uniroot(p, c(at - 20, at - 1e-6), tol = 1e-10)$root
    high <- uniroot(p, c(at + 1e-6, at + 20), tol = 1e-10)$root
    return(c(list(best = "shown", smallest_at = at, smallest_at_interval = c(low, high)), out))
  }
  s <- half(contrast(line$fit, unit(2, ncol(line$x)), line$adjusted, line$dispersion))
  c(list(best = "none shown", sd_ratio_per_unit = exp(s$estimate), sd_ratio_per_unit_interval = exp(interval(s)),
         sd_ratio_df = s$df, sd_ratio_p = s$p), out)
}

place_part <- function(arrows, x, dial, weight) {
  axes <- lapply(c("x", "y"), function(a) {
    n <- ncol(x)
    fit <- fitted_rows(arrows[[a]], cbind(x, dial), weight, arrows$session, arrows$end)
    slope <- contrast(fit, unit(n + 1, n + 1))
    levels <- sort(unique(dial))
    inner <- levels[-c(1, length(levels))]
    free <- sapply(inner, function(v) as.numeric(dial == v))
    wide <- fitted_rows(arrows[[a]], cbind(x, dial, free), weight, arrows$session, arrows$end)
    l <- t(sapply(seq_along(inner), function(i) unit(n + 1 + i, n + 1 + length(inner))))
    test <- KRmodcomp(wide, l)$test["Ftest", ]
    vars <- as.data.frame(VarCorr(fit))
    list(slope = slope, test = test, session = vars$vcov[vars$grp == "session"],
         end = vars$vcov[vars$grp == "end"], noise = sigma(fit)^2)
  })
  get <- function(f) sapply(axes, f)
  p <- get(function(a) a$slope$p)
  q <- get(function(a) a$test$p.value)
  joint <- min(1, 2 * min(q))
  list(shift_mrad_per_unit = get(function(a) a$slope$estimate),
       shift_se_mrad_per_unit = get(function(a) a$slope$se), shift_df = get(function(a) a$slope$df),
       shift_interval_mrad_per_unit = lapply(axes, function(a) interval(a$slope)), shift_p = p,
       shift_p_joint = min(1, 2 * min(p)),
       straightness = list(f = get(function(a) a$test$stat), ndf = get(function(a) a$test$ndf),
                           ddf = get(function(a) a$test$ddf), p = q, p_joint = joint, line_fits = joint >= 0.05),
       var_session_mrad2 = get(function(a) a$session), var_end_mrad2 = get(function(a) a$end),
       var_noise_mrad2 = get(function(a) a$noise))
}

json <- function(v) {
  if (is.list(v) && !is.null(names(v))) {
    return(paste0("{", paste0("\"", names(v), "\":", sapply(v, json), collapse = ","), "}"))
  }
  if (is.list(v)) return(paste0("[", paste(sapply(v, json), collapse = ","), "]"))
  one <- function(x) {
    if (is.logical(x)) return(tolower(as.character(x)))
    if (is.character(x)) return(paste0("\"", x, "\""))
    format(x, digits = 12)
  }
  text <- sapply(v, one)
  if (length(v) == 1) text else paste0("[", paste(text, collapse = ","), "]")
}

# A season: ends in order with their settings; `truth` gives the place and log SD of an end.
season <- function(seed, ends, truth, session_sd, end_sd, session_log_sd) {
  set.seed(seed)
  sessions <- unique(ends$session)
  day <- matrix(rnorm(2 * length(sessions), 0, session_sd), ncol = 2)
  own <- rnorm(length(sessions), 0, session_log_sd)
  rows <- lapply(seq_len(nrow(ends)), function(i) {
    e <- ends[i, ]
    s <- match(e$session, sessions)
    t <- truth(e)
    at <- t$at + day[s, ] + rnorm(2, 0, end_sd)
    mm <- round(30 * sweep(matrix(rnorm(2 * e$n, 0, exp(t$log_sd + own[s])), ncol = 2), 2, at, "+"), 3)
    data.frame(x = mm[, 1] / 30, y = mm[, 2] / 30, i = i, session = e$session, end = paste0(e$session, "e", i))
  })
  do.call(rbind, rows)
}

time_of <- function(e) sprintf("2026-%02d-%02dT%02d:%02d:00Z", 3 + (e$session - 1) %/% 25, 1 + (e$session - 1) %% 25,
                               9 + e$k %/% 6, (e$k %% 6) * 10)

group_of <- function(e, i, arrows, settings) {
  a <- arrows[arrows$i == i, ]
  points <- lapply(seq_len(nrow(a)), function(j) c(30 * a$x[j], 30 * a$y[j]))
  list(at = time_of(e), session = paste0("s", e$session), end = paste0("e", i), distance_m = 30,
       points_mm = lapply(points, round, 3), sight = e$sight, settings = settings(e))
}

scatter_of <- function(ends, arrows) {
  ss <- function(v) sum((v - mean(v))^2)
  ends$ss <- sapply(seq_len(nrow(ends)), function(i) {
    a <- arrows[arrows$i == i, ]
    ss(a$x) + ss(a$y)
  })
  ends$df <- 2 * (ends$n - 1)
  ends
}

case <- function(id, noise, arrows, ends, settings, changes, place_x, spread_others, source) {
  ends <- scatter_of(ends, arrows)
  curve <- spread_of(ends, spread_others, TRUE)
  line <- spread_of(ends, spread_others, FALSE)
  weight <- rep(1, nrow(arrows))
  if (noise == "by-spread") {
    log_var <- as.numeric(curve$x %*% fixef(curve$fit))
    weight <- 1 / exp(log_var - sum(ends$n * log_var) / sum(ends$n))[arrows$i]
  }
  expect <- c(list(spread = spread_part(curve, line, range(ends$dial))),
              place_part(arrows, place_x[arrows$i, , drop = FALSE], ends$dial[arrows$i], weight))
  groups <- lapply(seq_len(nrow(ends)), function(i) group_of(ends[i, ], i, arrows, settings))
  list(id = id, method = "dial", source = source, rel = 2e-4, abs = 2e-6,
       input = list(dial = "plunger_turns", noise = noise, changes = changes, groups = groups), expect = expect)
}

# The first season in which no variance is estimated at zero, where programs differ in what they count.
first_that_fits <- function(make) {
  for (seed in 1:200) {
    made <- tryCatch(make(seed), error = function(e) if (grepl("variance is zero", conditionMessage(e))) NULL else stop(e))
    if (!is.null(made)) return(made)
  }
  stop("no season fits")
}

made_by <- function(what) paste0("simulated season, tests/reference/scripts/dial.R; lme4 ", packageVersion("lme4"),
                                 " REML, pbkrtest ", packageVersion("pbkrtest"), " Kenward-Roger; ", what)

frame <- function(sessions, per, n, dial) {
  ends <- data.frame(session = rep(seq_len(sessions), each = per), k = rep(seq_len(per) - 1, sessions))
  ends$n <- rep_len(n, nrow(ends))
  ends$dial <- rep_len(dial, nrow(ends))
  ends$sight <- "a"
  ends
}
just_dial <- function(e) list(plunger_turns = e$dial)

# 1: a line in place and a spread that is smallest between the values; changes inside sessions.
ends <- frame(10, 5, 5, c(1.5, 2, 2.5, 3, 3.5, 2.5, 3.5, 1.5, 3))
truth_of_one <- function(e) list(at = c(-0.6, 0.1) * e$dial, log_sd = 0.35 * (e$dial - 2.4)^2)
one <- first_that_fits(function(seed) {
  arrows <- season(seed, ends, truth_of_one, 0.7, 0.8, 0.25)
  case("dial_line_and_smallest", "equal", arrows, ends, just_dial, list(), matrix(1, nrow(ends), 1), NULL,
       made_by("one dial, equal noise; Fieller interval by uniroot on the Kenward-Roger t test"))
})

# 2: a second dial, a change of string, a moved sight, and noise as the spread is fitted.
ends <- frame(12, 5, 4, c(2, 2.5, 3, 2.25))
ends$brace <- rep_len(c(rep(215, 7), rep(218, 9), rep(221, 6)), nrow(ends))
ends$string <- as.numeric(seq_len(nrow(ends)) > 33)
ends$sight <- ifelse(seq_len(nrow(ends)) > 22 & seq_len(nrow(ends)) < 48, "b", "a")
truth <- function(e) list(at = c(-0.8, 0) * e$dial + c(0.02, 0.1) * (e$brace - 218) + c(0.3, -0.2) * e$string +
                            c(0.5, 0.5) * (e$sight == "b"),
                          log_sd = 1.6 * (e$dial - 2.45)^2 + 0.02 * (e$brace - 218) - 0.1 * e$string)
b <- ends$brace - 218
moved <- list(list(id = "c1", at = time_of(ends[8, ]), set = list(brace_height_mm = 218)),
              list(id = "c2", at = time_of(ends[34, ]), set = list(string = "new")),
              list(id = "c3", at = time_of(ends[2, ]), set = list(plunger_turns = 2.5)))
two <- first_that_fits(function(seed) {
  arrows <- season(seed, ends, truth, 0.7, 0.8, 0.25)
  case("dial_with_other_changes", "by-spread", arrows, ends,
       function(e) list(plunger_turns = e$dial, brace_height_mm = e$brace), moved,
       cbind(1, ends$sight == "b", b, ends$string), cbind(b, b^2, ends$string),
       made_by("noise by spread, rows and random effects scaled by the root of their weight"))
})

# 3: values that lie on no line, ends of 3 to 6 arrows, a spread without a best value.
ends <- frame(9, 5, c(3, 6, 4, 5), c(1, 1.5, 2, 3, 2, 1.5, 3))
bent <- function(e) list(at = c(1.5 * (e$dial - 2)^2, 0.2 * e$dial), log_sd = 0.15 * e$dial)
three <- first_that_fits(function(seed) {
  arrows <- season(seed, ends, bent, 0.7, 0.8, 0.25)
  case("dial_no_line_none_shown", "equal", arrows, ends, just_dial, list(), matrix(1, nrow(ends), 1), NULL,
       made_by("ends of 3 to 6 arrows, the spread's rows scaled by 1/sqrt(trigamma)"))
})

few <- list(id = "dial_two_values", method = "dial", source = "a line needs three values", expect_error = TRUE,
            input = list(dial = "plunger_turns", groups = list(
              list(at = "2026-04-01T09:00:00Z", distance_m = 30, points_mm = list(c(1, 2)), settings = list(plunger_turns = 2)),
              list(at = "2026-04-01T09:10:00Z", distance_m = 30, points_mm = list(c(1, 2)), settings = list(plunger_turns = 3)))))

cat("{\"cases\":[", paste(sapply(list(one, two, three, few), json), collapse = ",\n"), "]}\n", sep = "")
