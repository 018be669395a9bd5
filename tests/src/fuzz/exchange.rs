//! The body of an exchange, as the service reads it from a device and a device could read it from a service.

use super::chain;
use sheaf_model::{
    log::Entry,
    replica::{Memory, Replica, Store},
    wire::{ExchangeReply, ExchangeRequest},
};

/// Reads a request and a reply. What is read is written and read back the same, and answering leads to an end.
pub fn check(bytes: &[u8]) {
    if let Ok(reply) = serde_json::from_slice::<ExchangeReply>(bytes) {
        let text = serde_json::to_string(&reply).expect("a reply is written");
        let back: ExchangeReply = serde_json::from_str(&text).expect("what is written is read");
        assert_eq!(serde_json::to_string(&back).expect("it is written again"), text);
        taken(reply.entries);
    }
    let Ok(ask) = serde_json::from_slice::<ExchangeRequest>(bytes) else { return };
    let text = serde_json::to_string(&ask).expect("a request is written");
    let back: ExchangeRequest = serde_json::from_str(&text).expect("what is written is read");
    assert_eq!(serde_json::to_string(&back).expect("it is written again"), text);
    let replica = taken(ask.entries);
    let mut have = ask.have;
    let mut pages = 0;
    loop {
        let page = replica.missing_for(&have).expect("a page");
        assert!(!page.more || !page.entries.is_empty(), "a page that is not the last one brings something");
        for entry in &page.entries {
            let mark = have.entry(entry.device).or_insert(sheaf_model::log::Mark(0, entry.header_hash()));
            assert!(entry.seq > mark.0, "nothing is handed out twice");
            *mark = sheaf_model::log::Mark(entry.seq, entry.header_hash());
        }
        pages += 1;
        if !page.more {
            break;
        }
        assert!(pages < 1000, "it comes to an end");
    }
}

fn taken(entries: Vec<Entry>) -> Replica<Memory> {
    chain::taken_in_once(&entries);
    let replica = chain::merged(&chain::mended(entries));
    assert!(replica.store().vector().total() < 1_000_000);
    replica
}
