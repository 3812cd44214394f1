# Reads what hardstart hands out with base R and jsonlite (see read_jobs.py for the commands):
#
#     Rscript read_jobs.R jobs.ndjson long.csv scores.ndjson
#
# Not run by the project's checks, which have no R.

files <- commandArgs(trailingOnly = TRUE)
if (length(files) != 3) stop("Rscript read_jobs.R jobs.ndjson long.csv scores.ndjson")

jobs <- jsonlite::stream_in(file(files[1]), simplifyVector = FALSE, verbose = FALSE)
# Text stays text; only NA means that nothing is there.
long <- read.csv(files[2], colClasses = "character", na.strings = "NA", check.names = FALSE)
scores <- jsonlite::stream_in(file(files[3]), verbose = FALSE)

stopifnot(setequal(unique(long$job_id), vapply(jobs, function(job) job$job, "")))

long$value <- as.numeric(long$value_num)
measured <- long[!is.na(long$value) & !is.na(long$unit), ]
by_check <- aggregate(value ~ property + unit, measured, function(v) c(n = length(v), median = median(v)))
print(by_check)

print(aggregate(log_score ~ shop, scores, function(s) c(n = length(s), mean = mean(s))))
