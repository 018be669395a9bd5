//! One keep-alive connection of a device to the service.

use bytes::Bytes;
use http_body_util::{BodyExt as _, Full};
use hyper::{
    Method, Request,
    client::conn::http1::{SendRequest, handshake},
    header,
};
use hyper_util::rt::TokioIo;
use serde::{Serialize, de::DeserializeOwned};
use std::net::SocketAddr;
use tokio::net::TcpStream;

/// A connection.
pub struct Link {
    sender: SendRequest<Full<Bytes>>,
    address: SocketAddr,
}

impl Link {
    /// Opens a connection.
    ///
    /// # Errors
    /// Why there is none.
    pub async fn open(address: SocketAddr) -> Result<Self, String> {
        let stream = TcpStream::connect(address).await.map_err(|e| format!("no connection: {e}"))?;
        stream.set_nodelay(true).ok();
        let (sender, connection) =
            handshake(TokioIo::new(stream)).await.map_err(|e| format!("no connection: {e}"))?;
        tokio::spawn(async move {
            connection.await.ok();
        });
        Ok(Self { sender, address })
    }

    /// Sends a request and returns the status and the body of its answer, which has arrived whole.
    ///
    /// # Errors
    /// Why there is no answer.
    pub async fn send(
        &mut self,
        method: Method,
        path: &str,
        token: &str,
        body: Vec<u8>,
    ) -> Result<(u16, Bytes), String> {
        let request = Request::builder()
            .method(method)
            .uri(path)
            .header(header::HOST, self.address.to_string())
            .header(header::CONTENT_TYPE, "application/json")
            .header(header::AUTHORIZATION, format!("Bearer {token}"))
            .body(Full::new(Bytes::from(body)))
            .map_err(|e| format!("no request: {e}"))?;
        let failed = |e: hyper::Error| format!("{path}: no answer: {e}");
        self.sender.ready().await.map_err(failed)?;
        let answer = self.sender.send_request(request).await.map_err(failed)?;
        let status = answer.status().as_u16();
        let body = answer.into_body().collect().await.map_err(failed)?;
        Ok((status, body.to_bytes()))
    }

    /// Posts JSON and reads the JSON of the answer; anything but success ends the run.
    ///
    /// # Panics
    /// When the service refuses or does not answer: a figure of a run with failures would say nothing.
    pub async fn post<T: DeserializeOwned>(&mut self, path: &str, token: &str, ask: &impl Serialize) -> T {
        let body = serde_json::to_vec(ask).expect("a request is JSON");
        let (status, body) =
            self.send(Method::POST, path, token, body).await.unwrap_or_else(|e| panic!("{e}"));
        assert!((200..300).contains(&status), "{path}: {status} {}", String::from_utf8_lossy(&body));
        serde_json::from_slice(&body).unwrap_or_else(|e| panic!("{path}: {e}"))
    }
}
