//! Has the program built anew when a file of the page comes or goes; changed ones are seen without.

fn main() {
    println!("cargo::rerun-if-changed=web");
}
