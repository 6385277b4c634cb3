//! Exit code only; everything else is in the library.

fn main() -> std::process::ExitCode {
    gapwright::cli::run()
}
