# The evidence of the running t-test from its definition: noncentral t densities weighed by the prior of the effect.
bf <- function(t, n, g) integrate(function(d) sapply(d, function(x) dt(t, n-1, ncp=x*sqrt(n)) * dnorm(x, 0, sqrt(g))), -12*sqrt(g), 12*sqrt(g), rel.tol=1e-10, subdivisions=2000)$value / dt(t, n-1)
tstar2 <- function(n, g, a) { R <- (sqrt(1+n*g)/a)^(2/n); if (R < 1+n*g) (n-1)*(R-1)/(1-R/(1+n*g)) else Inf }
sharp <- function(a, N) { l <- (-80:120)*0.1; exp(l[which.min(sapply(l, function(v) tstar2(N, exp(v), a)))]) }
edge <- function(n, g, a) uniroot(function(t) log(bf(t, n, g)) - log(1/a), c(0.01, 30), tol=1e-10)$root
set.seed(12); N <- 10; order <- paste(sample(c("ABBA","BAAB"), N, TRUE), collapse=""); o <- strsplit(order,"")[[1]]
ends <- NULL; d <- NULL; v <- NULL; js <- NULL
for (b in 1:N) { day <- rnorm(2,0,.8); M <- list(A=NULL,B=NULL); S <- c(A=0,B=0); D <- c(A=0,B=0)
 for (k in 1:4) { i <- 4*(b-1)+k; st <- o[i]; off <- day+rnorm(2,0,.3)+(st=="B")*c(.7,0); p <- round(matrix(off,5,2,byrow=TRUE)+ifelse(st=="B",.8,1)*matrix(rnorm(10),5,2),3)
  M[[st]] <- rbind(M[[st]], colMeans(p)); S[st] <- S[st]+sum(scale(p,scale=FALSE)^2); D[st] <- D[st]+8
  js <- c(js, sprintf('{"place":%d,"session":"s%d","points_mrad":[%s]}', i-1, b, paste(apply(p,1,function(r) sprintf("[%.3f,%.3f]",r[1],r[2])),collapse=","))) }
 d <- rbind(d, colMeans(M$B)-colMeans(M$A)); v <- c(v, .5*log((S["B"]/D["B"])/(S["A"]/D["A"]))) }
num <- function(x) formatC(x, digits=12, format="g")
ga <- sharp(.025, N); gs <- sharp(.05, N)
iv <- function(x, g, a) mean(x)+c(-1,1)*edge(length(x), g, a)*sd(x)/sqrt(length(x))
ix <- iv(d[,1],ga,.025); iy <- iv(d[,2],ga,.025); is <- exp(iv(v,gs,.05))
said <- function(x,g,a) any(sapply(2:length(x), function(n) bf(mean(x[1:n])/sd(x[1:n])*sqrt(n), n, g) >= 1/a))
cat("said", said(d[,1],ga,.025), said(d[,2],ga,.025), said(v,gs,.05), "\n", file=stderr())
place <- if (said(d[,1],ga,.025)||said(d[,2],ga,.025)) "changed" else "unsettled"; spread <- if (said(v,gs,.05)) "changed" else "unsettled"
# power of a plan: drawn in R with the evidence in closed form, which the intervals above have checked
pow <- function(eff, a, N, reps=20000) { g <- sharp(a,N); mean(replicate(reps, { x <- rnorm(N)+eff; cs <- cumsum(x); cq <- cumsum(x^2); n <- 2:N; m <- cs[n]/n; s2 <- (cq[n]-n*m^2)/(n-1); t2 <- m^2*n/s2; any(.5*(n*(log1p(t2/(n-1))-log1p(t2/((n-1)*(1+n*g))))-log(1+n*g)) >= log(1/a)) })) }
first <- function(eff, a, want) { for (N in 2:60) { p <- pow(eff,a,N,4000); if (p >= want) return(N) } }
e <- .6/sqrt(.3^2+1.1^2/6); n <- first(e,.025,.8); p <- pow(e,.025,n); cat("blocks", n, p, "\n", file=stderr())
cat(sprintf('{"cases":[{"id":"pv_01","method":"plan-verdict","source":"R: evidence by integrating noncentral t densities over the prior of the effect, edges by uniroot; ten simulated blocks","rel":1e-6,"abs":1e-8,"input":{"order":"%s","alpha":0.05,"shift_mrad":0.6,"sd_ratio":0.8,"ends":[%s]},"expect":{"blocks":10,"blocks_planned":10,"blocks_split":0,"place":"%s","spread":"%s","shift_mrad":[%s,%s],"shift_interval_mrad":[[%s,%s],[%s,%s]],"sd_ratio":%s,"sd_ratio_interval":[%s,%s],"next":null,"may_stop":true}},',
 order, paste(js,collapse=","), place, spread, num(mean(d[,1])),num(mean(d[,2])),num(ix[1]),num(ix[2]),num(iy[1]),num(iy[2]),num(exp(mean(v))),num(is[1]),num(is[2])))
cat(sprintf('{"id":"pl_01","method":"plan","source":"R: power of the running t-test drawn 20000 times at %d blocks","rel":0,"abs":0.03,"input":{"shift_mrad":0.6,"sd_end_mrad":[0.3,0.2],"sd_arrow_mrad":[1.0,1.1],"arrows_per_end":6,"seed":4},"expect":{"power_shift":%s,"power_spread":null}},{"id":"pl_02","method":"plan","source":"nothing is to be found","input":{"sd_end_mrad":[0.3,0.2],"sd_arrow_mrad":[1.0,1.1],"arrows_per_end":6,"seed":4},"expect_error":true},{"id":"pv_02","method":"plan-verdict","source":"a block of three ends","input":{"order":"ABB","ends":[]},"expect_error":true}]}\n', n, num(p)))
