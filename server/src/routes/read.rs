//! Routes of reading: JSON, or CSV for who asks for it.

use super::{Head, Shared, head, rendered, reply};
use crate::{
    error::ServerError,
    listen::blocking,
    service::{AsTable, Service, Session},
};
use serde::Serialize;
use sheaf_model::verdict::Units;
use std::sync::Arc;
use warp::{
    Filter,
    filters::BoxedFilter,
    http::{StatusCode, header},
    reply::Response,
};

pub fn bows(shared: &Arc<Shared>) -> BoxedFilter<(Response,)> {
    of_team(shared, "bows", Service::bows)
}

pub fn arrow_sets(shared: &Arc<Shared>) -> BoxedFilter<(Response,)> {
    of_team(shared, "arrows", Service::arrow_sets)
}

pub fn arrow_set(shared: &Arc<Shared>) -> BoxedFilter<(Response,)> {
    warp::path!("v1" / "teams" / String / "arrows" / String)
        .and(warp::get())
        .and(head(shared))
        .then(|team: String, set: String, head: Head| {
            rendered(async move {
                let who = head.session(&team)?;
                let set = unescape(&set);
                shown(head, move |service| service.arrow_set(who, &set)).await
            })
        })
        .boxed()
}

pub fn parts(shared: &Arc<Shared>) -> BoxedFilter<(Response,)> {
    of_team(shared, "parts", Service::parts)
}

pub fn report(shared: &Arc<Shared>) -> BoxedFilter<(Response,)> {
    of_team(shared, "report", Service::report)
}

pub fn setups(shared: &Arc<Shared>) -> BoxedFilter<(Response,)> {
    of_one(shared, "bows", "setups", Service::setups)
}

pub fn groups(shared: &Arc<Shared>) -> BoxedFilter<(Response,)> {
    of_one(shared, "bows", "groups", Service::groups)
}

pub fn effects(shared: &Arc<Shared>) -> BoxedFilter<(Response,)> {
    of_one(shared, "bows", "effects", Service::effects)
}

pub fn fits(shared: &Arc<Shared>) -> BoxedFilter<(Response,)> {
    of_one(shared, "people", "fits", Service::fits)
}

pub fn wear(shared: &Arc<Shared>) -> BoxedFilter<(Response,)> {
    of_one(shared, "bows", "wear", Service::wear)
}

pub fn curves(shared: &Arc<Shared>) -> BoxedFilter<(Response,)> {
    of_one(shared, "bows", "curves", Service::curves)
}

pub fn pairs(shared: &Arc<Shared>) -> BoxedFilter<(Response,)> {
    of_one(shared, "bows", "pairs", Service::pairs)
}

pub fn marks(shared: &Arc<Shared>) -> BoxedFilter<(Response,)> {
    of_one(shared, "bows", "marks", Service::marks)
}

pub fn rebuild(shared: &Arc<Shared>) -> BoxedFilter<(Response,)> {
    let query = warp::query::raw().or(warp::any().map(String::new)).unify();
    warp::path!("v1" / "teams" / String / "bows" / String / "rebuild")
        .and(warp::get())
        .and(query)
        .and(head(shared))
        .then(move |team: String, bow: String, query: String, head: Head| {
            rendered(async move {
                let who = head.session(&team)?;
                let (bow, baseline) = (unescape(&bow), asked(&query, "baseline"));
                let units = match asked(&query, "units").as_deref() {
                    None | Some("metric") => Units::Metric,
                    Some("imperial") => Units::Imperial,
                    Some(_) => {
                        let detail = "`units` is `metric` or `imperial`.";
                        return Err(ServerError::refuse(400, "bad_units", "Unknown units", detail));
                    }
                };
                shown(head, move |service| service.rebuild(who, &bow, baseline.as_deref(), units)).await
            })
        })
        .boxed()
}

/// Returns what a query gives for a name; nothing where that is empty.
fn asked(query: &str, name: &str) -> Option<String> {
    let mut pairs = query.split('&').filter_map(|pair| pair.split_once('='));
    let (_, given) = pairs.find(|(given, _)| *given == name)?;
    Some(unescape(&given.replace('+', " "))).filter(|given| !given.is_empty())
}

fn of_team<T: Serialize + AsTable + 'static>(
    shared: &Arc<Shared>,
    last: &'static str,
    read: fn(&Service, Session) -> Result<T, ServerError>,
) -> BoxedFilter<(Response,)> {
    warp::path!("v1" / "teams" / String / ..)
        .and(warp::path(last))
        .and(warp::path::end())
        .and(warp::get())
        .and(head(shared))
        .then(move |team: String, head: Head| {
            rendered(async move {
                let who = head.session(&team)?;
                shown(head, move |service| read(service, who)).await
            })
        })
        .boxed()
}

/// Reads about one bow or one person, by id or name.
fn of_one<T: Serialize + AsTable + 'static>(
    shared: &Arc<Shared>,
    of: &'static str,
    last: &'static str,
    read: fn(&Service, Session, &str) -> Result<T, ServerError>,
) -> BoxedFilter<(Response,)> {
    warp::path!("v1" / "teams" / String / ..)
        .and(warp::path(of))
        .and(warp::path::param())
        .and(warp::path(last))
        .and(warp::path::end())
        .and(warp::get())
        .and(head(shared))
        .then(move |team: String, one: String, head: Head| {
            rendered(async move {
                let who = head.session(&team)?;
                let one = unescape(&one);
                shown(head, move |service| read(service, who, &one)).await
            })
        })
        .boxed()
}

async fn shown<T: Serialize + AsTable>(
    head: Head,
    read: impl FnOnce(&Service) -> Result<T, ServerError> + Send + 'static,
) -> Result<Response, ServerError> {
    let shape = shape(head.text(&header::ACCEPT))?;
    blocking(move || {
        let found = read(&head.service)?;
        match shape {
            Shape::Json => reply::json(StatusCode::OK, &found),
            Shape::Csv => Ok(reply::typed(
                StatusCode::OK,
                "text/csv; charset=utf-8; header=present",
                found.table().csv()?,
            )),
        }
    })
    .await
}

/// What a read can answer with.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Shape {
    Json,
    Csv,
}

/// Chooses what the asker likes best (RFC 9110, section 12.5.1); JSON when it is all the same.
fn shape(accept: Option<&str>) -> Result<Shape, ServerError> {
    let Some(accept) = accept.filter(|a| !a.trim().is_empty()) else { return Ok(Shape::Json) };
    let weight = |wanted: &str| {
        let (main, _) = wanted.split_once('/').unwrap_or((wanted, ""));
        let fits = |range: &str| match range {
            r if r.eq_ignore_ascii_case(wanted) => Some(2),
            r if r.strip_suffix("/*").is_some_and(|m| m.eq_ignore_ascii_case(main)) => Some(1),
            "*/*" => Some(0),
            _ => None,
        };
        let ranges = accept.split(',').filter_map(|item| {
            let mut parts = item.split(';').map(str::trim);
            let fit = fits(parts.next()?)?;
            let quality = parts.find_map(|p| p.strip_prefix("q=")?.trim().parse::<f64>().ok()).unwrap_or(1.0);
            Some((fit, quality))
        });
        ranges.max_by_key(|(fit, _)| *fit).map_or(0.0, |(_, quality)| quality)
    };
    let (json, csv) = (weight("application/json"), weight("text/csv"));
    if json <= 0.0 && csv <= 0.0 {
        let detail = "This address answers with `application/json` or `text/csv`.";
        return Err(ServerError::refuse(406, "not_acceptable", "Not acceptable", detail));
    }
    Ok(if csv > json { Shape::Csv } else { Shape::Json })
}

/// Undoes percent-encoding (RFC 3986, section 2.1) of a part of a path.
fn unescape(part: &str) -> String {
    let bytes = part.as_bytes();
    let (mut out, mut i) = (Vec::with_capacity(bytes.len()), 0);
    while i < bytes.len() {
        let hex = part.get(i + 1..i + 3).and_then(|h| u8::from_str_radix(h, 16).ok());
        match hex.filter(|_| bytes[i] == b'%') {
            Some(byte) => {
                out.push(byte);
                i += 3;
            }
            None => {
                out.push(bytes[i]);
                i += 1;
            }
        }
    }
    String::from_utf8_lossy(&out).into_owned()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_asker_gets_what_it_likes_best() {
        for (accept, expect) in [
            ("", Shape::Json),
            ("*/*", Shape::Json),
            ("text/csv", Shape::Csv),
            ("text/*", Shape::Csv),
            ("text/csv, application/json", Shape::Json),
            ("text/csv;q=0.9, application/json;q=0.1", Shape::Csv),
            ("text/csv, */*;q=0.1", Shape::Csv),
            ("application/json;q=0, */*", Shape::Csv),
        ] {
            assert_eq!(shape(Some(accept)).ok(), Some(expect), "{accept}");
        }
        assert!(shape(Some("image/png")).is_err());
        assert!(shape(Some("text/csv;q=0")).is_err());
    }

    #[test]
    fn a_query_is_read_by_its_names() {
        let query = "baseline=match+day%202&units=&x";
        assert_eq!(asked(query, "baseline").as_deref(), Some("match day 2"));
        assert_eq!((asked(query, "units"), asked(query, "x"), asked("", "units")), (None, None, None));
    }

    #[test]
    fn names_in_paths_are_unescaped() {
        assert_eq!(unescape("old%20b%C3%B6w"), "old böw");
        assert_eq!(unescape("100%"), "100%");
        assert_eq!(unescape("é%zz"), "é%zz");
    }
}
