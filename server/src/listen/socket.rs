//! A connection that gives up on replies nobody reads, and that is closed so that the last reply arrives.

use std::{
    future::Future,
    io,
    pin::Pin,
    task::{Context, Poll},
    time::Duration,
};
use tokio::{
    io::{AsyncRead, AsyncReadExt, AsyncWrite, AsyncWriteExt, ReadBuf},
    net::TcpStream,
    sync::OwnedSemaphorePermit,
    time::{Sleep, sleep, timeout},
};

/// How long, and how many bytes of, what still comes in is read after the last reply.
const LINGER: Duration = Duration::from_secs(2);
const LINGER_BYTES: usize = 256 << 20;

/// A TCP connection with the place it takes among all connections.
pub struct Socket {
    inner: Option<(TcpStream, OwnedSemaphorePermit)>,
    patience: Duration,
    stuck: Option<Pin<Box<Sleep>>>,
}

impl Socket {
    /// Wraps a connection; a write that stays stuck for `patience` ends it.
    pub fn new(stream: TcpStream, patience: Duration, place: OwnedSemaphorePermit) -> Self {
        Self { inner: Some((stream, place)), patience, stuck: None }
    }

    /// Waits for the first byte that comes in, and leaves it there; none when the connection ends before it.
    pub async fn first_byte(&self) -> io::Result<Option<u8>> {
        let (stream, _) = self.inner.as_ref().ok_or(io::ErrorKind::NotConnected)?;
        let mut first = [0];
        Ok((stream.peek(&mut first).await? > 0).then_some(first[0]))
    }

    fn stream(&mut self) -> io::Result<Pin<&mut TcpStream>> {
        self.inner.as_mut().map(|(s, _)| Pin::new(s)).ok_or_else(|| io::ErrorKind::NotConnected.into())
    }

    fn watched<T>(&mut self, cx: &mut Context<'_>, written: Poll<io::Result<T>>) -> Poll<io::Result<T>> {
        if written.is_ready() {
            self.stuck = None;
            return written;
        }
        let patience = self.patience;
        let stuck = self.stuck.get_or_insert_with(|| Box::pin(sleep(patience)));
        match stuck.as_mut().poll(cx) {
            Poll::Ready(()) => Poll::Ready(Err(io::ErrorKind::TimedOut.into())),
            Poll::Pending => Poll::Pending,
        }
    }
}

impl Drop for Socket {
    /// A socket that is closed with input unread resets the connection, which can take the reply with it
    /// before the client has read it. So what still comes in is read for a moment and thrown away.
    fn drop(&mut self) {
        let (Some((stream, place)), Ok(runtime)) = (self.inner.take(), tokio::runtime::Handle::try_current())
        else {
            return;
        };
        runtime.spawn(async move {
            timeout(LINGER, drain(stream)).await.ok();
            drop(place);
        });
    }
}

async fn drain(mut stream: TcpStream) {
    let mut buffer = vec![0; 16 << 10];
    let mut left = LINGER_BYTES;
    if stream.shutdown().await.is_err() {
        return;
    }
    while let Ok(read) = stream.read(&mut buffer).await {
        left = left.saturating_sub(read);
        if read == 0 || left == 0 {
            return;
        }
    }
}

impl AsyncRead for Socket {
    fn poll_read(
        mut self: Pin<&mut Self>,
        cx: &mut Context<'_>,
        buffer: &mut ReadBuf<'_>,
    ) -> Poll<io::Result<()>> {
        self.stream()?.poll_read(cx, buffer)
    }
}

impl AsyncWrite for Socket {
    fn poll_write(mut self: Pin<&mut Self>, cx: &mut Context<'_>, bytes: &[u8]) -> Poll<io::Result<usize>> {
        let written = self.stream()?.poll_write(cx, bytes);
        self.watched(cx, written)
    }

    fn poll_write_vectored(
        mut self: Pin<&mut Self>,
        cx: &mut Context<'_>,
        bytes: &[io::IoSlice<'_>],
    ) -> Poll<io::Result<usize>> {
        let written = self.stream()?.poll_write_vectored(cx, bytes);
        self.watched(cx, written)
    }

    fn is_write_vectored(&self) -> bool {
        true
    }

    fn poll_flush(mut self: Pin<&mut Self>, cx: &mut Context<'_>) -> Poll<io::Result<()>> {
        self.stream()?.poll_flush(cx)
    }

    fn poll_shutdown(mut self: Pin<&mut Self>, cx: &mut Context<'_>) -> Poll<io::Result<()>> {
        self.stream()?.poll_shutdown(cx)
    }
}
