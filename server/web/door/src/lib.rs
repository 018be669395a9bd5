//! The model as the page runs it.
//!
//! Three functions and no glue: the page asks for room with `sheaf_input`, writes its call there in JSON, runs it with
//! `sheaf_call`, and reads the answer at `sheaf_output`. The lengths are in bytes, the texts UTF-8. Where the model
//! panics the instance is spent, and the page starts another from what it has kept.

use sheaf_model::desk::Desk;
use std::cell::RefCell;

thread_local! {
    static ROOM: RefCell<Room> = RefCell::default();
}

#[derive(Default)]
struct Room {
    input: Vec<u8>,
    output: Vec<u8>,
    desk: Desk,
}

/// Makes room for a call of that many bytes, and returns where it is.
// The attribute counts as unsafe since two functions of one name would clash; there is no other of this name.
#[allow(unsafe_code)]
#[unsafe(no_mangle)]
pub extern "C" fn sheaf_input(len: usize) -> *mut u8 {
    ROOM.with_borrow_mut(|room| {
        room.input.clear();
        room.input.resize(len, 0);
        room.input.as_mut_ptr()
    })
}

/// Answers the call that was written, and returns how long the answer is.
#[allow(unsafe_code)]
#[unsafe(no_mangle)]
pub extern "C" fn sheaf_call() -> usize {
    ROOM.with_borrow_mut(|room| {
        let request = String::from_utf8_lossy(&room.input);
        room.output = room.desk.answer(&request).into_bytes();
        room.output.len()
    })
}

/// Returns where the answer is.
#[allow(unsafe_code)]
#[unsafe(no_mangle)]
pub extern "C" fn sheaf_output() -> *const u8 {
    ROOM.with_borrow(|room| room.output.as_ptr())
}
