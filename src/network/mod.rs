//! The Bayesian network: variables and local models, compiled programs, the kernel, and the enumeration oracle. Never sees TOML, files, clocks or text.
