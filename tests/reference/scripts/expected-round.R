suppressMessages(library(lme4))
set.seed(77); S <- 2; E <- 5; A <- 6; d <- 30
dat <- NULL; g <- NULL
for (s in 1:S) { day <- c(.7,-.3)+rnorm(2,0,.4); for (e in 1:E) { off <- day+rnorm(2,0,.35)
  p <- round(d*(cbind(rnorm(A),1.3*rnorm(A)) + matrix(off,A,2,byrow=TRUE)),1)
  dat <- rbind(dat, data.frame(s=s,e=paste(s,e),x=p[,1]/d,y=p[,2]/d))
  g <- c(g, sprintf('{"at":"2026-06-%02dT1%d:00:00Z","session":"s%d","end":"%d","distance_m":30,"points_mm":[%s]}',s,e,s,e,paste(apply(p,1,function(r) sprintf("[%.1f,%.1f]",r[1],r[2])),collapse=","))) } }
fit <- function(v) { dat$v <- dat[[v]]; m <- lmer(v ~ 1+(1|s/e), dat, REML=TRUE, control=lmerControl(optimizer="bobyqa",optCtrl=list(rhoend=1e-10))); vc <- as.data.frame(VarCorr(m)); list(b=fixef(m)[[1]], s=vc$vcov[vc$grp=="s"], e=vc$vcov[vc$grp=="e:s"]) }
fx <- fit("x"); fy <- fit("y")
W <- Reduce(`+`, lapply(split(dat, dat$e), function(q) { z <- scale(as.matrix(q[,c("x","y")]), scale=FALSE); t(z)%*%z })) / (nrow(dat)-S*E)
cat(capture.output(print(list(fx,fy,W))), sep="\n", file=stderr())
C <- (W + diag(c(fx$s+fx$e, fy$s+fy$e)))*d^2; mu <- c(fx$b,fy$b)*d; shaft <- 5.5
# probability of a circle: integrate over x the conditional normal of y
circ <- function(m, r) integrate(function(x) { cm <- m[2]+C[1,2]/C[1,1]*(x-m[1]); cs <- sqrt(C[2,2]-C[1,2]^2/C[1,1]); h <- sqrt(pmax(r^2-x^2,0)); dnorm(x,m[1],sqrt(C[1,1]))*(pnorm(h,cm,cs)-pnorm(-h,cm,cs)) }, -r, r, rel.tol=1e-11, subdivisions=2000)$value
pts <- function(m) sum(sapply(1:10, function(k) circ(m, 40*k+shaft/2)))
num <- function(v) formatC(v, digits=13, format="g")
cat(sprintf('{"cases":[{"id":"er_01","method":"expected-round","source":"R lme4: intercept, session and end by axis; covariance pooled within ends; the ten rings of the 80 cm face integrated by R integrate","rel":1e-5,"abs":1e-6,"input":{"shaft_diameter_mm":5.5,"round":[{"face":"wa_80","distance_m":30,"arrows":36}],"groups":[%s]},"expect":{"most_points":360,"sessions":2,"arrows":60,"points":%s,"lost_to_spread_points":%s,"lost_to_mean_points":%s,"parts":[{"mean_mm":[%s,%s],"sd_mm":[%s,%s],"points_per_arrow":%s}]}}]}\n', paste(g,collapse=","), num(36*pts(mu)), num(36*(10-pts(c(0,0)))), num(36*(pts(c(0,0))-pts(mu))), num(mu[1]),num(mu[2]),num(sqrt(C[1,1])),num(sqrt(C[2,2])),num(pts(mu))))
