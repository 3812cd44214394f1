//! Answers into text and JSON. Never computes beyond rounding.
