//! The `sheaf` command: hands the real world to [`sheaf_cli::run`].

fn main() -> std::process::ExitCode {
    sheaf_cli::run_in_the_world(std::env::args_os())
}
