//! The table of routes: method, path and filter of each.

use super::{Shared, compute, events, exchange, meta, page, people, read};
use std::sync::Arc;
use warp::{
    filters::BoxedFilter,
    http::{HeaderValue, Method, StatusCode, header},
    reply::Response,
};

/// A route.
pub struct Route {
    /// Its method.
    pub method: &'static str,
    /// Its path, with parameters in braces; the last may end in a star and take several parts then.
    pub path: &'static str,
    /// Its filter.
    pub filter: fn(&Arc<Shared>) -> BoxedFilter<(Response,)>,
}

const fn route(
    method: &'static str,
    path: &'static str,
    filter: fn(&Arc<Shared>) -> BoxedFilter<(Response,)>,
) -> Route {
    Route { method, path, filter }
}

/// Every route of the service.
#[rustfmt::skip]
pub const ROUTES: &[Route] = &[
    route("GET", "/v1/health", meta::health),
    route("GET", "/v1/ready", meta::ready),
    route("GET", "/v1/metrics", meta::metrics),
    route("GET", "/v1/openapi.json", meta::openapi),
    route("POST", "/v1/teams", people::found),
    route("POST", "/v1/join", people::join),
    route("POST", "/v1/teams/{team}/invites", people::invite),
    route("POST", "/v1/teams/{team}/devices", people::renew),
    route("GET", "/v1/teams/{team}/devices", people::devices),
    route("DELETE", "/v1/teams/{team}/devices/{device}", people::shut),
    route("PUT", "/v1/teams/{team}/people/{person}/role", people::role),
    route("POST", "/v1/teams/{team}/exchange", exchange::exchange),
    route("GET", "/v1/teams/{team}/arrows", read::arrow_sets),
    route("GET", "/v1/teams/{team}/arrows/{set}", read::arrow_set),
    route("GET", "/v1/teams/{team}/bows", read::bows),
    route("GET", "/v1/teams/{team}/bows/{bow}/setups", read::setups),
    route("GET", "/v1/teams/{team}/bows/{bow}/groups", read::groups),
    route("GET", "/v1/teams/{team}/bows/{bow}/effects", read::effects),
    route("GET", "/v1/teams/{team}/bows/{bow}/wear", read::wear),
    route("GET", "/v1/teams/{team}/bows/{bow}/curves", read::curves),
    route("GET", "/v1/teams/{team}/bows/{bow}/pairs", read::pairs),
    route("GET", "/v1/teams/{team}/bows/{bow}/marks", read::marks),
    route("GET", "/v1/teams/{team}/parts", read::parts),
    route("GET", "/v1/teams/{team}/people/{person}/fits", read::fits),
    route("GET", "/v1/teams/{team}/bows/{bow}/rebuild", read::rebuild),
    route("GET", "/v1/teams/{team}/report", read::report),
    route("GET", "/v1/teams/{team}/events", events::events),
    route("GET", "/v1/compute", compute::methods),
    route("POST", "/v1/compute/{method}", compute::compute),
    route("GET", "/", page::index),
    route("GET", "/sw.js", page::worker),
    route("GET", "/manifest.webmanifest", page::manifest),
    route("GET", "/web/{file*}", page::others),
];

/// Adds the methods that an address takes to the answer that refuses one.
pub fn with_allow(mut reply: Response, path: &str) -> Response {
    if reply.status() == StatusCode::METHOD_NOT_ALLOWED {
        let mut methods: Vec<&str> = ROUTES.iter().filter(|r| fits(r.path, path)).map(|r| r.method).collect();
        if methods.contains(&"GET") {
            methods.push("HEAD");
        }
        if let Ok(value) = HeaderValue::from_str(&methods.join(", ")) {
            reply.headers_mut().insert(header::ALLOW, value);
        }
    }
    reply
}

/// Returns method and pattern of the route that takes a request.
pub fn find(method: &Method, path: &str) -> Option<(&'static str, &'static str)> {
    let method = if method == Method::HEAD { &Method::GET } else { method };
    ROUTES.iter().find(|r| method == r.method && fits(r.path, path)).map(|r| (r.method, r.path))
}

/// Returns whether a path is one of the page and not of the interface.
pub fn of_the_page(path: &str) -> bool {
    ROUTES.iter().any(|r| !r.path.starts_with("/v1/") && fits(r.path, path))
}

/// Returns whether a path is one of a pattern's.
fn fits(pattern: &str, path: &str) -> bool {
    let [mut pattern, mut path] = [pattern, path].map(|text| text.trim_end_matches('/').split('/'));
    loop {
        match (pattern.next(), path.next()) {
            (Some(p), Some(_)) if p.ends_with("*}") => return true,
            (None, None) => return true,
            (Some(p), Some(q)) if p == q || (p.starts_with('{') && !q.is_empty()) => {}
            _ => return false,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_path_fits_its_pattern_and_no_other() {
        for (pattern, path, fit) in [
            ("/", "/", true),
            ("/", "/sw.js", false),
            ("/sw.js", "/", false),
            ("/v1/compute", "/v1/compute/", true),
            ("/v1/compute/{method}", "/v1/compute", false),
            ("/v1/compute/{method}", "/v1/compute/fit/more", false),
            ("/web/{file*}", "/web/js/screen/bow.js", true),
            ("/web/{file*}", "/web", false),
            ("/web/{file*}", "/website", false),
        ] {
            assert_eq!(fits(pattern, path), fit, "{path} and {pattern}");
        }
    }

    #[test]
    fn the_page_has_no_address_of_the_interface() {
        for (path, page) in [
            ("/", true),
            ("/web/nothing.js", true),
            ("/v1/health", false),
            ("/v1/web/x", false),
            ("/nowhere", false),
        ] {
            assert_eq!(of_the_page(path), page, "{path}");
        }
    }
}
