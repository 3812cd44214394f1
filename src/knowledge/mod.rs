//! The trade knowledge: TOML figures into `Knowledge`, with rules that find all problems. Never does arithmetic on chances.
