//! The fold of entries into state, the differences it keeps, and its digest.
