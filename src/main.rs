//! Entry point: hands the arguments to the command line room and its exit code to the shell.

#[cfg(not(target_env = "msvc"))]
use tikv_jemallocator::Jemalloc;

use hardstart::cli::{self, Served, Wanted};
use hardstart::web::{self, Limits, Settings};

/// Gives back what a reckoning took, so that the bench page stays small all day; how soon stands in
/// `.cargo/config.toml`.
#[cfg(not(target_env = "msvc"))]
#[global_allocator]
static ALLOCATOR: Jemalloc = Jemalloc;

fn main() -> std::process::ExitCode {
    let exit = cli::run(std::env::args_os(), serve);
    std::process::ExitCode::from(exit.code())
}

/// The command line and the page stand beside each other; here they meet.
fn serve(wanted: Wanted) -> std::io::Result<Served> {
    let running = web::start(Settings {
        book: wanted.book,
        knowledge: wanted.knowledge,
        port: wanted.port,
        lan: wanted.lan,
        limits: Limits::default(),
    })?;
    let served = Served {
        address: running.address,
        join_code: running.join_code.clone(),
    };
    // It runs until the program ends.
    std::mem::forget(running);
    Ok(served)
}
