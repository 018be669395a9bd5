//! The page that a phone installs: the files of `server/web`, in the program itself, for anybody without a token.
//!
//! `/` and the other addresses of the page are for browsers and no part of the interface that `/v1/openapi.json`
//! describes. Every file is served as it is in the folder, but for the service worker `/sw.js`: its first line is the
//! table of all other files with their SHA-256, so that a browser notices it to be new exactly when any file is.

use super::{Head, Shared, head, rendered, reply};
use crate::{error::ServerError, listen::blocking};
use bytes::Bytes;
use rust_embed::{Embed, EmbeddedFile};
use sha2::{Digest, Sha256};
use std::{
    borrow::Cow,
    collections::BTreeMap,
    sync::{Arc, LazyLock, OnceLock},
};
use warp::{
    Filter, Rejection,
    filters::BoxedFilter,
    http::{HeaderMap, HeaderValue, StatusCode, header},
    path::FullPath,
    reply::Response,
};

/// Where the service worker is; it may look after all addresses only from here.
const WORKER: &str = "/sw.js";

/// The folder, without what a browser does not fetch.
#[derive(Embed)]
#[folder = "web"]
#[exclude = "door/*"]
#[exclude = "test/*"]
#[exclude = "build"]
#[exclude = "model.sources"]
#[exclude = "*.md"]
#[exclude = "*~"]
#[exclude = ".*"]
#[exclude = "*/.*"]
struct Folder;

/// A file as it is served.
struct File {
    media_type: &'static str,
    plain: Bytes,
    /// What SHA-256 makes of it, in hex digits.
    digest: String,
    /// It packed with gzip, once somebody asked; none where packing gains nothing.
    packed: OnceLock<Option<Bytes>>,
}

/// Every file by the path at which it is served.
static FILES: LazyLock<BTreeMap<String, File>> = LazyLock::new(gather);

/// Marks an answer as a file of the page, which has other headers than the answers of the interface.
#[derive(Debug, Clone, Copy)]
pub struct OfThePage;

fn gather() -> BTreeMap<String, File> {
    let named = Folder::iter().filter_map(|name| Some((served_at(&name), Folder::get(&name)?)));
    let mut files: BTreeMap<String, File> =
        named.map(|(path, file)| (path.clone(), File::of(&path, file))).collect();
    if let Some(worker) = files.remove(WORKER) {
        let table: BTreeMap<&str, &str> = files.iter().map(|(path, file)| (&**path, &*file.digest)).collect();
        let table = serde_json::to_string(&table).expect("texts are JSON");
        let text = [format!("const FILES = {table};\n").as_bytes(), &worker.plain].concat();
        files.insert(WORKER.into(), File::new(WORKER, text.into()));
    }
    files
}

/// Returns the path at which a file of the folder is served.
fn served_at(name: &str) -> String {
    match name {
        "index.html" => "/".into(),
        "sw.js" | "manifest.webmanifest" => format!("/{name}"),
        _ => format!("/web/{name}"),
    }
}

/// Returns the media type of a file by how its path ends; a browser downloads what has none of its own.
fn media_type(path: &str) -> &'static str {
    match path.rsplit(['.', '/']).next().unwrap_or_default() {
        "" | "html" => "text/html; charset=utf-8",
        "css" => "text/css; charset=utf-8",
        "js" | "mjs" => "text/javascript; charset=utf-8",
        "json" => "application/json; charset=utf-8",
        "jpg" | "jpeg" => "image/jpeg",
        "png" => "image/png",
        "svg" => "image/svg+xml; charset=utf-8",
        "txt" => "text/plain; charset=utf-8",
        "wasm" => "application/wasm",
        "webmanifest" => "application/manifest+json; charset=utf-8",
        "webp" => "image/webp",
        "woff2" => "font/woff2",
        _ => "application/octet-stream",
    }
}

impl File {
    fn of(path: &str, file: EmbeddedFile) -> Self {
        let plain = match file.data {
            Cow::Borrowed(bytes) => Bytes::from_static(bytes),
            Cow::Owned(bytes) => bytes.into(),
        };
        Self::new(path, plain)
    }

    fn new(path: &str, plain: Bytes) -> Self {
        let digest = Sha256::digest(&plain).iter().map(|byte| format!("{byte:02x}")).collect();
        Self { media_type: media_type(path), plain, digest, packed: OnceLock::new() }
    }

    /// Packs the file with gzip, the first time only; a picture gains too little for the work of unpacking it.
    fn packed(&self) -> Option<&Bytes> {
        let pack = || reply::pack(&self.plain, flate2::Compression::best()).ok().map(Bytes::from);
        self.packed.get_or_init(|| pack().filter(|packed| packed.len() < self.plain.len() / 10 * 9)).as_ref()
    }

    /// Answers with the file, or with the news that the asker has it.
    fn reply(&self, headers: &HeaderMap) -> Response {
        let packed = self.packed().filter(|_| reply::accepts_gzip(headers));
        // A strong tag names the very bytes that go over the line.
        let tag = format!("\"{}{}\"", self.digest, if packed.is_some() { "-gzip" } else { "" });
        let has = has(headers, &tag);
        let body = if has { Bytes::new() } else { packed.unwrap_or(&self.plain).clone() };
        let mut reply = Response::new(body.into());
        reply.extensions_mut().insert(OfThePage);
        let into = reply.headers_mut();
        into.insert(header::ETAG, HeaderValue::from_str(&tag).expect("hex digits"));
        into.insert(header::CONTENT_TYPE, HeaderValue::from_static(self.media_type));
        if packed.is_some() {
            into.insert(header::CONTENT_ENCODING, HeaderValue::from_static("gzip"));
        }
        if has {
            into.remove(header::CONTENT_TYPE);
            into.remove(header::CONTENT_ENCODING);
            *reply.status_mut() = StatusCode::NOT_MODIFIED;
        }
        reply
    }
}

/// Whether the asker has what a tag names; a proxy that packs by itself may have made the tag a weak one.
fn has(headers: &HeaderMap, tag: &str) -> bool {
    let listed = headers.get_all(header::IF_NONE_MATCH).iter().filter_map(|v| v.to_str().ok());
    listed
        .flat_map(|list| list.split(','))
        .map(str::trim)
        .any(|t| t == "*" || t.trim_start_matches("W/") == tag)
}

/// Answers with the page itself.
pub fn index(shared: &Arc<Shared>) -> BoxedFilter<(Response,)> {
    files(shared, warp::path::end().boxed())
}

/// Answers with the service worker.
pub fn worker(shared: &Arc<Shared>) -> BoxedFilter<(Response,)> {
    files(shared, warp::path!("sw.js").boxed())
}

/// Answers with the manifest by which a phone installs the page.
pub fn manifest(shared: &Arc<Shared>) -> BoxedFilter<(Response,)> {
    files(shared, warp::path!("manifest.webmanifest").boxed())
}

/// Answers with any other file of the page.
pub fn others(shared: &Arc<Shared>) -> BoxedFilter<(Response,)> {
    files(shared, warp::path("web").boxed())
}

/// Answers with the file at a path of those that a filter takes.
fn files(shared: &Arc<Shared>, path: BoxedFilter<()>) -> BoxedFilter<(Response,)> {
    if !shared.service.config.page {
        let nothing = || async { Err::<Response, Rejection>(warp::reject::not_found()) };
        return warp::any().and_then(nothing).boxed();
    }
    path.and(warp::get())
        .and(warp::path::full())
        .and(head(shared))
        .then(|path: FullPath, head: Head| rendered(async move { found(path.as_str(), head).await }))
        .boxed()
}

async fn found(path: &str, head: Head) -> Result<Response, ServerError> {
    let path = path.to_owned();
    // Packing a file for the first time takes a while.
    blocking(move || {
        let file = FILES.get(&path).ok_or_else(|| {
            let detail =
                "The page has no file at this address; it begins at /, and a reload brings its newest files.";
            ServerError::refuse(404, "unknown_file", "No such file", detail)
        })?;
        Ok(file.reply(&head.headers))
    })
    .await
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;
    use std::{fs, path::Path};

    /// Returns the names of all files below a folder.
    fn names(folder: &Path, top: &Path, into: &mut Vec<String>) {
        for item in fs::read_dir(folder).unwrap() {
            let path = item.unwrap().path();
            if path.is_dir() {
                names(&path, top, into);
            } else {
                into.push(path.strip_prefix(top).unwrap().to_str().unwrap().to_owned());
            }
        }
    }

    #[test]
    fn what_the_folder_holds_is_served_and_nothing_else() {
        let top = Path::new(env!("CARGO_MANIFEST_DIR")).join("web");
        let mut expect = Vec::new();
        names(&top, &top, &mut expect);
        let inner = |name: &str| {
            ["door/", "test/", "."].iter().any(|start| name.starts_with(start))
                || ["build", "model.sources"].contains(&name)
                || [".md", "~"].iter().any(|end| name.ends_with(end))
                || name.contains("/.")
        };
        expect.retain(|name| !inner(name));
        let mut expect: Vec<String> = expect.iter().map(|name| served_at(name)).collect();
        expect.sort();
        assert_eq!(FILES.keys().cloned().collect::<Vec<_>>(), expect);
        for needed in ["/", WORKER, "/manifest.webmanifest"] {
            assert!(FILES.contains_key(needed), "{needed}");
        }
    }

    #[test]
    fn every_file_has_a_media_type_of_its_own() {
        for (path, file) in &*FILES {
            assert_ne!(file.media_type, "application/octet-stream", "{path}: add its ending to `media_type`");
        }
        assert_eq!(media_type("/web/js/screen/bow.js"), "text/javascript; charset=utf-8");
        assert_eq!(media_type("/web/model.wasm"), "application/wasm");
        assert_eq!(media_type("/web/build"), "application/octet-stream");
    }

    #[test]
    fn the_worker_begins_with_what_every_other_file_is() {
        let text = std::str::from_utf8(&FILES[WORKER].plain).unwrap();
        let (first, rest) = text.split_once('\n').unwrap();
        let table = first.strip_prefix("const FILES = ").unwrap().strip_suffix(';').unwrap();
        let table: BTreeMap<String, String> = serde_json::from_str(table).unwrap();
        let expect: BTreeMap<String, String> = FILES
            .iter()
            .filter(|(path, _)| *path != WORKER)
            .map(|(path, file)| (path.clone(), file.digest.clone()))
            .collect();
        assert_eq!(table, expect);
        let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("web");
        assert_eq!(rest, fs::read_to_string(folder.join("sw.js")).unwrap());
    }

    #[test]
    fn who_has_a_file_is_told_so_whatever_else_is_listed() {
        let asked = |text: &str| {
            let mut headers = HeaderMap::new();
            headers.insert(header::IF_NONE_MATCH, HeaderValue::from_str(text).unwrap());
            has(&headers, "\"ab\"")
        };
        for yes in ["\"ab\"", "W/\"ab\"", "\"cd\", \"ab\"", "*"] {
            assert!(asked(yes), "{yes}");
        }
        for no in ["\"cd\"", "ab", "\"ab-gzip\"", ""] {
            assert!(!asked(no), "{no}");
        }
        assert!(!has(&HeaderMap::new(), "\"ab\""));
    }
}
