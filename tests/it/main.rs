//! One binary of tests: a list of features.

mod arrows;
mod calibration;
mod cli_import;
mod demo;
mod dial;
mod harness;
mod names;
mod questions;
mod reference;
mod server_access;
mod server_exchange;
mod server_limits;
mod server_process;
mod server_reads;
mod server_store;
mod settings;
mod slips;
mod tidy;
mod two_devices;
mod typed;
mod verdict;
mod wrong_clock;
