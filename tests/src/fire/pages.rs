//! What stands between a device and the service, and answers in its stead.

/// The page of a proxy that finds no service behind it.
pub fn bad_gateway() -> Vec<u8> {
    page(
        "502 Bad Gateway",
        "<html><head><title>502</title></head><body><h1>502 Bad Gateway</h1></body></html>",
    )
}

/// The page of a proxy that waited for the service in vain.
pub fn timed_out() -> Vec<u8> {
    page(
        "504 Gateway Time-out",
        "<html><head><title>504</title></head><body><h1>504 Gateway Time-out</h1></body></html>",
    )
}

/// The page of a network that wants a login first.
pub fn portal() -> Vec<u8> {
    page(
        "200 OK",
        "<!DOCTYPE html><html><head><title>Welcome</title></head><body><form>Log in to use this network</form></body></html>",
    )
}

fn page(status: &str, html: &str) -> Vec<u8> {
    format!(
        "HTTP/1.1 {status}\r\ncontent-type: text/html; charset=utf-8\r\ncontent-length: {}\r\nconnection: \
         close\r\n\r\n{html}",
        html.len()
    )
    .into_bytes()
}
