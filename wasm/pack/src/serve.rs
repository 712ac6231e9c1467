//! Serves a folder to browsers on this machine.

use anyhow::{Context, Result};
use axum::Router;
use axum::http::HeaderValue;
use axum::http::header::{CACHE_CONTROL, CONTENT_TYPE};
use axum::middleware::map_response;
use axum::response::Response;
use std::io::{self, ErrorKind};
use std::net::Ipv4Addr;
use std::path::Path;
use tokio::net::TcpListener;
use tokio::runtime::{Builder, Runtime};
use tower_http::services::ServeDir;

const DEFAULT_PORT: u16 = 8017;

/// Serves the folder until the process is stopped.
pub(crate) fn serve(site: &Path, port: Option<u16>) -> Result<()> {
    runtime()?.block_on(async {
        let listener = listen(port).await?;
        println!("\nHalfbar is at http://{}/ (Ctrl+C stops it)", listener.local_addr()?);
        Ok(axum::serve(listener, router(site)).await?)
    })
}

/// One thread is enough: it takes turns between connections.
fn runtime() -> io::Result<Runtime> {
    Builder::new_current_thread().enable_all().build()
}

/// A port that was asked for is that one or an error; the default gives way to any free one.
async fn listen(port: Option<u16>) -> Result<TcpListener> {
    let wanted = port.unwrap_or(DEFAULT_PORT);
    let listener = match bind(wanted).await {
        Err(error) if port.is_none() && error.kind() == ErrorKind::AddrInUse => bind(0).await,
        bound => bound,
    };
    listener.with_context(|| format!("port {wanted} could not be opened"))
}

async fn bind(port: u16) -> io::Result<TcpListener> {
    TcpListener::bind((Ipv4Addr::LOCALHOST, port)).await
}

fn router(site: &Path) -> Router {
    Router::new().fallback_service(ServeDir::new(site)).layer(map_response(add_headers))
}

/// A reload must show the newest build, and all text files are UTF-8.
async fn add_headers(mut response: Response) -> Response {
    let headers = response.headers_mut();
    headers.insert(CACHE_CONTROL, HeaderValue::from_static("no-store"));
    let text = headers
        .get(CONTENT_TYPE)
        .and_then(|kind| kind.to_str().ok())
        .filter(|kind| kind.starts_with("text/"));
    if let Some(kind) = text.and_then(|kind| HeaderValue::from_str(&format!("{kind}; charset=utf-8")).ok()) {
        headers.insert(CONTENT_TYPE, kind);
    }
    response
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::io::{Read, Write};
    use std::net::TcpStream;
    use std::thread;

    /// A folder with a site in it and a secret beside the site.
    fn folder() -> Result<tempfile::TempDir> {
        let folder = tempfile::tempdir()?;
        fs_err::create_dir(folder.path().join("site"))?;
        for name in ["secret.txt", "site/index.html", "site/a.js", "site/a.css", "site/a.wasm"] {
            fs_err::write(folder.path().join(name), format!("content of {name}"))?;
        }
        Ok(folder)
    }

    /// What a real socket answers to requests sent just as they are, all of them open at once.
    fn answers<const N: usize>(requests: [&str; N]) -> Result<[String; N]> {
        let folder = folder()?;
        let runtime = runtime()?;
        let listener = runtime.block_on(listen(Some(0)))?;
        let address = listener.local_addr()?;
        let router = router(&folder.path().join("site"));
        thread::spawn(move || runtime.block_on(async { axum::serve(listener, router).await }));

        let mut streams = Vec::new();
        for _ in requests {
            streams.push(TcpStream::connect(address)?);
        }
        let mut answers = [const { String::new() }; N];
        // The last connection asks first: those before it must not hold it up.
        for ((stream, request), answer) in streams.iter_mut().zip(requests).zip(&mut answers).rev() {
            write!(stream, "{request} HTTP/1.1\r\nHost: localhost\r\nConnection: close\r\n\r\n")?;
            stream.read_to_string(answer)?;
            answer.make_ascii_lowercase();
        }
        Ok(answers)
    }

    #[test]
    fn each_kind_of_file_has_its_type() -> Result<()> {
        let kinds = ["text/html; charset=utf-8", "text/javascript; charset=utf-8", "text/css; charset=utf-8"];
        let [html, js, css, wasm] = answers(["GET /", "GET /a.js", "GET /a.css", "GET /a.wasm"])?;
        for (answer, kind) in [html, js, css, wasm].iter().zip(kinds.into_iter().chain(["application/wasm"]))
        {
            assert!(answer.starts_with("http/1.1 200"), "{answer}");
            assert!(answer.contains(&format!("content-type: {kind}\r\n")), "{answer}");
            assert!(answer.contains("cache-control: no-store\r\n"), "{answer}");
            assert!(answer.contains("content of site/"), "{answer}");
        }
        Ok(())
    }

    #[test]
    fn nothing_outside_the_folder_is_served() -> Result<()> {
        for answer in answers([
            "GET /../secret.txt",
            "GET /a/../../secret.txt",
            "GET /%2e%2e/secret.txt",
            "GET /..%2fsecret.txt",
            "GET /..%5csecret.txt",
            "GET //../secret.txt",
        ])? {
            assert!(answer.starts_with("http/1.1 4") && !answer.contains("content of"), "{answer}");
        }
        Ok(())
    }

    #[test]
    fn only_get_and_head_are_answered() -> Result<()> {
        let [head, post] = answers(["HEAD /", "POST /"])?;
        assert!(head.starts_with("http/1.1 200") && !head.contains("content of"), "{head}");
        assert!(post.starts_with("http/1.1 405"), "{post}");
        Ok(())
    }

    #[test]
    fn a_taken_port_is_an_error_when_asked_for() -> Result<()> {
        let taken = std::net::TcpListener::bind((Ipv4Addr::LOCALHOST, 0))?;
        let port = taken.local_addr()?.port();
        let refused = runtime()?.block_on(listen(Some(port)));
        assert!(refused.is_err_and(|error| error.to_string().contains(&port.to_string())));
        Ok(())
    }
}
