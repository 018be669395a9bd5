#![no_main]

sheaf_fuzz::target!(desk);
