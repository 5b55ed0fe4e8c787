//! The rim: everything that touches the outside world, and nothing that decides.
//!
//! Here: clocks, files, the terminal, the command line. Not here: what a test method asks (procedure), what may happen
//! next (engine), what is shown and what a key means (screen).

pub mod cli;
pub mod clock;
mod commands;
pub mod config;
pub mod config_args;
mod config_command;
#[cfg(unix)]
pub mod ears;
mod exam_command;
mod exam_export;
pub mod exam_record;
pub mod frames;
#[cfg(unix)]
pub mod free;
#[cfg(unix)]
pub mod hands;
#[cfg(unix)]
pub mod keys;
mod keys_command;
pub mod keys_script;
pub mod lapse;
pub mod ledger;
pub mod library;
pub mod out;
mod plan_command;
mod practice_command;
pub mod practice_record;
mod practice_session;
pub mod record;
pub mod sample;
mod sample_command;
pub mod sample_record;
mod sample_report;
pub mod shot;
mod show;
pub mod sound_check;
pub mod speaker;
pub mod store;
pub mod terminal;
#[cfg(unix)]
pub(crate) mod tty;
