//! The OpenAPI 3.1 document of the service: operations here, shapes in `schemas.json`.

mod operations;

use operations::{Answer, OPERATIONS, Operation};
use serde_json::{Map, Value, json};
use std::sync::LazyLock;

static DOCUMENT: LazyLock<Value> = LazyLock::new(build);

/// Returns the document.
pub fn document() -> &'static Value {
    &DOCUMENT
}

fn build() -> Value {
    let schemas: Value =
        serde_json::from_str(include_str!("schemas.json")).expect("a test reads the shapes too");
    let mut paths = Map::new();
    for operation in OPERATIONS {
        let path = paths.entry(operation.path).or_insert_with(|| json!({}));
        path[operation.method.to_lowercase()] = described(operation);
    }
    json!({
        "openapi": "3.1.0",
        "info": {
            "title": "sheafd",
            "version": env!("CARGO_PKG_VERSION"),
            "summary": "Keeps the entries of teams and hands them on",
            "description": "Every error is a problem document (RFC 9457). Requests may be packed with gzip; replies are, \
                            for who accepts it. A token sees its own team and nothing else.",
            "license": {"name": "MIT OR Apache-2.0", "identifier": "MIT OR Apache-2.0"}
        },
        "paths": paths,
        "components": {
            "schemas": schemas,
            "securitySchemes": {"token": {"type": "http", "scheme": "bearer"}},
            "responses": {"Problem": {
                "description": "What is wrong, and what to do",
                "content": {"application/problem+json": {"schema": reference("Problem")}}
            }}
        }
    })
}

fn described(operation: &Operation) -> Value {
    let mut responses = Map::new();
    let (status, content) = match operation.answer {
        Answer::Nothing => ("204", None),
        Answer::Created(schema) => ("201", Some(json!({"application/json": {"schema": reference(schema)}}))),
        Answer::Json(schema) => ("200", Some(json!({"application/json": {"schema": reference(schema)}}))),
        Answer::JsonOrCsv(schema) => (
            "200",
            Some(json!({
                "application/json": {"schema": reference(schema)},
                "text/csv": {"schema": {"type": "string"}}
            })),
        ),
        Answer::Metrics => {
            ("200", Some(json!({(crate::metrics::MEDIA_TYPE): {"schema": {"type": "string"}}})))
        }
        Answer::Events => ("200", Some(json!({"text/event-stream": {"schema": {"type": "string"}}}))),
    };
    let mut answer = json!({"description": operation.says});
    if let Some(content) = content {
        answer["content"] = content;
    }
    responses.insert(status.into(), answer);
    responses.insert("default".into(), json!({"$ref": "#/components/responses/Problem"}));
    let mut described = json!({"summary": operation.summary, "responses": responses});
    if let Some(schema) = operation.takes {
        let content = json!({"application/json": {"schema": reference(schema)}});
        described["requestBody"] = json!({"required": true, "content": content});
    }
    if operation.token {
        described["security"] = json!([{"token": []}]);
    }
    let parameters: Vec<Value> = parameters(operation.path).chain(query(operation)).collect();
    if !parameters.is_empty() {
        described["parameters"] = parameters.into();
    }
    described
}

fn parameters(path: &str) -> impl Iterator<Item = Value> + '_ {
    let names = path.split('/').filter_map(|part| part.strip_prefix('{')?.strip_suffix('}'));
    names.map(move |name| {
        let schema = match name {
            "bow" | "method" | "set" => json!({"type": "string"}),
            "person" if path.ends_with("/fits") => json!({"type": "string"}),
            _ => reference("Id"),
        };
        json!({"name": name, "in": "path", "required": true, "schema": schema})
    })
}

fn query(operation: &Operation) -> impl Iterator<Item = Value> {
    operation.query.iter().map(|(name, means)| {
        json!({"name": name, "in": "query", "required": false, "description": means, "schema": {"type": "string"}})
    })
}

fn reference(schema: &str) -> Value {
    json!({"$ref": format!("#/components/schemas/{schema}")})
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;
    use crate::routes::table::ROUTES;

    #[test]
    fn the_document_names_every_route_and_no_other() {
        // The files of the page are for browsers, which find them from / by themselves, and come and go with the page.
        let described = ROUTES.iter().filter(|r| r.path.starts_with("/v1/"));
        let mut routes: Vec<(String, String)> =
            described.map(|r| (r.path.to_owned(), r.method.to_lowercase())).collect();
        let mut described = Vec::new();
        for (path, methods) in document()["paths"].as_object().unwrap() {
            described.extend(methods.as_object().unwrap().keys().map(|m| (path.clone(), m.clone())));
        }
        routes.sort();
        described.sort();
        assert_eq!(routes, described);
    }

    #[test]
    fn every_reference_leads_somewhere() {
        fn follow(document: &Value, value: &Value) {
            match value {
                Value::Object(fields) => {
                    if let Some(Value::String(to)) = fields.get("$ref") {
                        assert!(document.pointer(to.strip_prefix('#').unwrap()).is_some(), "{to}");
                    }
                    fields.values().for_each(|v| follow(document, v));
                }
                Value::Array(items) => items.iter().for_each(|v| follow(document, v)),
                _ => {}
            }
        }
        follow(document(), document());
    }
}
