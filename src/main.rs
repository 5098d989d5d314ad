#![forbid(unsafe_code)]

fn main() -> std::process::ExitCode {
    ghostchalk::cli::run()
}
