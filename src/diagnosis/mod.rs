//! Ranking, what moved it, misfit, standing. Never formats.
