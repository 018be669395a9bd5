//! The OpenAPI 3.1 document of the service.

use super::table::ROUTES;
use serde_json::{Map, Value, json};

/// Returns the document.
pub fn document() -> Value {
    let mut paths = Map::new();
    for route in ROUTES {
        let path = paths.entry(route.path).or_insert_with(|| json!({}));
        path[route.method.to_lowercase()] = json!({});
    }
    json!({"openapi": "3.1.0", "info": {"title": "sheafd", "version": env!("CARGO_PKG_VERSION")}, "paths": paths})
}
