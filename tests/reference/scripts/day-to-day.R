suppressMessages({library(lme4); library(pbkrtest)})
set.seed(41)
S <- 9; E <- 4; A <- 5; d <- 30
rows <- list(); groups <- list()
for (s in 1:S) { day <- rnorm(2, 0, 0.6); for (e in 1:E) { off <- rnorm(2,0,0.3)
  p <- round(d*(cbind(rnorm(A), rnorm(A)) + matrix(day+off + c(ifelse(s==S,1.9,0),0), A, 2, byrow=TRUE)), 1)
  groups[[length(groups)+1]] <- list(s=s,e=e,p=p)
  rows[[length(rows)+1]] <- data.frame(s=s,e=paste(s,e),x=p[,1]/d,y=p[,2]/d,last=as.numeric(s==S)) } }
dat <- do.call(rbind, rows)
fit <- function(v) { dat$v <- dat[[v]]
  m <- lmer(v ~ last + (1|s/e), dat, REML=TRUE, control=lmerControl(optimizer="bobyqa", optCtrl=list(rhoend=1e-10)))
  m0 <- lmer(v ~ 1 + (1|s/e), dat, REML=TRUE)
  kr <- KRmodcomp(m, m0); b <- fixef(m)[["last"]]; vc <- vcovAdj(m); se <- sqrt(vc[2,2]); df <- kr$test["Ftest","ddf"]
  p <- kr$test["Ftest","p.value"]; vcs <- as.data.frame(VarCorr(m))
  list(b=b,se=se,df=df,p=p,sd=vcs$sdcor[match(c("s","e:s","Residual"), vcs$grp)]) }
fx <- fit("x"); fy <- fit("y")
num <- function(v) formatC(v, digits=15, format="g")
pair <- function(a,b) paste0("[",num(a),",",num(b),"]")
int <- function(f) pair(f$b - qt(.975,f$df)*f$se, f$b + qt(.975,f$df)*f$se)
g <- sapply(groups, function(q) sprintf('{"at":"2026-05-%02dT1%d:00:00Z","session":"d%d","end":"%d","distance_m":30,"points_mm":[%s]}', q$s, q$e, q$s, q$e, paste(apply(q$p,1,function(r) sprintf("[%s,%s]", num(r[1]), num(r[2]))), collapse=",")))
cat(sprintf('{"cases":[{"id":"dtd_01","method":"day-to-day","source":"R lme4 %s + pbkrtest %s: y ~ last + (1 | session/end) by axis on a simulated season of nine days, the last 1.9 mrad to the right","rel":1e-5,"abs":1e-7,"input":{"noise":"equal","changes":[],"groups":[%s]},"expect":{"session":"d9","sessions":9,"ends":4,"ends_before":32,"shift_mrad":%s,"shift_interval_mrad":[%s,%s],"shift_p":%s,"sd_session_mrad":%s,"sd_end_mrad":%s,"sd_arrow_mrad":%s}}]}\n',
 packageVersion("lme4"), packageVersion("pbkrtest"), paste(g, collapse=","), pair(fx$b,fy$b), int(fx), int(fy), num(min(1,2*min(fx$p,fy$p))), pair(fx$sd[1],fy$sd[1]), pair(fx$sd[2],fy$sd[2]), pair(fx$sd[3],fy$sd[3])))
