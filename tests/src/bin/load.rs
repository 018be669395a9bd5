//! What the service bears, and what it takes: `tests/load` builds and runs it.

use sheaf_tests::load::{Plan, run};

fn main() {
    let plan = Plan::read(std::env::args().skip(1)).unwrap_or_else(|why| {
        eprintln!("load: {why}");
        std::process::exit(2);
    });
    println!("{}", run(&plan));
}
