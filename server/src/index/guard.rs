//! Living on when the store of the index gives up over damaged files.

use crate::error::ServerError;
use std::{
    cell::Cell,
    panic::{self, AssertUnwindSafe, catch_unwind},
    sync::Once,
};

thread_local! {
    /// Whether a panic of this thread is caught and turned into an answer.
    static CAUGHT: Cell<bool> = const { Cell::new(false) };
}

/// Does a piece of work in which sled may panic, as it does over some kinds of damage, at opening or when it
/// first reaches the place; that is [`ServerError::Index`] then.
///
/// The index is thrown away after that, so nothing half-done is kept.
pub fn survive<T>(work: impl FnOnce() -> Result<T, ServerError>) -> Result<T, ServerError> {
    static HOOK: Once = Once::new();
    HOOK.call_once(|| {
        let usual = panic::take_hook();
        panic::set_hook(Box::new(move |info| {
            if CAUGHT.get() {
                tracing::debug!(%info, "the store of the index gave up");
            } else {
                usual(info);
            }
        }));
    });
    let before = CAUGHT.replace(true);
    let done = catch_unwind(AssertUnwindSafe(work));
    CAUGHT.set(before);
    done.unwrap_or_else(|_| Err(ServerError::Index("its store gives up over it".into())))
}
