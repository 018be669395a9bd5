//! Programs that check claims.
