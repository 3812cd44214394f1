//! From knowledge, an engine and its starts to a network.
