# Reads what hardstart hands out with base R and jsonlite (see read_jobs.py for the commands):
#
#     Rscript read_jobs.R jobs.ndjson long.csv wide.csv scores.ndjson
#
# Prints one table each: readings by check, and what the chances were worth by shop. Ends with 1 if
# the tables and the jobs do not tell of the same jobs and as many readings.

files <- commandArgs(trailingOnly = TRUE)
if (length(files) != 4) stop("Rscript read_jobs.R jobs.ndjson long.csv wide.csv scores.ndjson")

table <- function(file) {
  # Text stays text; only NA means that nothing is there, so that an answer of "none" stays one.
  read.csv(file, colClasses = "character", na.strings = "NA", check.names = FALSE)
}
jobs <- jsonlite::stream_in(file(files[1]), simplifyVector = FALSE, verbose = FALSE)
long <- table(files[2])
wide <- table(files[3])
scores <- jsonlite::stream_in(file(files[4]), verbose = FALSE)

names <- vapply(jobs, function(job) job$job, "")
for (told in list(long, wide)) stopifnot(setequal(told$job_id, names))
readings <- unlist(lapply(jobs, function(job) {
  vapply(Filter(Negate(is.null), lapply(job$entry, `[[`, "reading")), `[[`, "", "check")
}))
stopifnot(sum(long$property %in% readings) == length(readings))
cat(length(jobs), "jobs,", length(readings), "readings\n")

long$value <- as.numeric(long$value_num)
measured <- long[!is.na(long$value) & !is.na(long$unit), ]
print(aggregate(value ~ property + unit, measured, function(v) c(n = length(v), median = median(v))))

print(aggregate(log_score ~ shop, scores, function(s) c(n = length(s), mean = mean(s))))
