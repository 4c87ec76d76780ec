//! The `leafturn` command.

use std::process::ExitCode;

fn main() -> ExitCode {
    station::command::run()
}
