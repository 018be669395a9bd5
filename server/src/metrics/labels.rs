//! The labels under which something is counted.

use prometheus_client::encoding::EncodeLabelSet;

/// Labels of an answer.
#[derive(Debug, Clone, PartialEq, Eq, Hash, EncodeLabelSet)]
pub struct Request {
    /// The method of the route.
    pub method: &'static str,
    /// The pattern of the route, with parameters in braces.
    pub route: &'static str,
    /// The class of the status, such as `2xx`.
    pub status: &'static str,
}

/// Label of a refusal.
#[derive(Debug, Clone, PartialEq, Eq, Hash, EncodeLabelSet)]
pub struct By {
    /// The code of the problem document.
    pub code: &'static str,
}

/// Label of an exchange.
#[derive(Debug, Clone, PartialEq, Eq, Hash, EncodeLabelSet)]
pub struct ByResult {
    /// How it ended.
    pub result: &'static str,
}

/// Label of entries that were not kept.
#[derive(Debug, Clone, PartialEq, Eq, Hash, EncodeLabelSet)]
pub struct ByReason {
    /// Why.
    pub reason: &'static str,
}

/// What was built.
#[derive(Debug, Clone, PartialEq, Eq, Hash, EncodeLabelSet)]
pub struct Build {
    /// The version.
    pub version: &'static str,
}
