//! The `sheaf` command: hands the real world to [`sheaf_cli::run`].

/// A command reads tens of thousands of small records and ends: that is a fifth quicker with an allocator made for it.
#[global_allocator]
static ALLOCATOR: mimalloc::MiMalloc = mimalloc::MiMalloc;

fn main() -> std::process::ExitCode {
    sheaf_cli::run_in_the_world(std::env::args_os())
}
