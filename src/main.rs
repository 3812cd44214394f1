//! Entry point: hands the arguments to the command line room and its exit code to the shell.

fn main() -> std::process::ExitCode {
    let exit = hardstart::cli::run(std::env::args_os());
    std::process::ExitCode::from(exit.code())
}
