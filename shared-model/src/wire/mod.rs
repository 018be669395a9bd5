//! What travels over HTTP: requests and replies.
