//! One engine, one complaint: the ordered entries of a job, parsed from files. Never computes a chance.
