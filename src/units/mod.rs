//! Quantities: parsing what a mechanic types, and exact conversion. Never guesses a unit.
