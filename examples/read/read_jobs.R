# Reads what hardstart writes with base R; jobs need the package jsonlite.
#
#   hardstart export jobs.ndjson --form long > long.csv
#   hardstart score jobs.ndjson --ndjson > scores.ndjson
#   Rscript examples/read/read_jobs.R long.csv scores.ndjson

arguments <- commandArgs(trailingOnly = TRUE)
rows <- read.csv(arguments[1], na.strings = "NA", encoding = "UTF-8", stringsAsFactors = FALSE)
# What was not tested is a state of its own, not a missing value.
print(table(rows$property[rows$state == "measured"]))

scores <- jsonlite::stream_in(file(arguments[2]), verbose = FALSE)
scored <- scores[!is.na(scores$log_score), ]
print(weighted.mean(scored$log_score, scored$weight))
