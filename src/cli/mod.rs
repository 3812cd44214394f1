//! Arguments, exit codes, and the commands. Never holds logic.
