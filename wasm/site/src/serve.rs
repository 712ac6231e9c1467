//! Serves a folder to browsers on this machine: one file per GET or HEAD (HTTP/1.1, RFC 9112), then the connection closes.

use anyhow::{Context, Result};
use httparse::{EMPTY_HEADER, Request, Status};
use percent_encoding::percent_decode_str;
use std::fs;
use std::io::{self, ErrorKind, Read, Write};
use std::net::{Ipv4Addr, Shutdown, TcpListener, TcpStream};
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::thread;
use std::time::Duration;

const DEFAULT_PORT: u16 = 8017;
/// How long an idle connection stays open, and how much of a request's head is read.
const PATIENCE: Duration = Duration::from_secs(60);
const HEAD_BYTES: usize = 1 << 16;
const HEADERS: usize = 100;

/// Serves the folder until the process is stopped.
pub(crate) fn serve(site: &Path, port: Option<u16>) -> Result<()> {
    let listener = listen(port)?;
    println!("\nHalfbar is at http://{}/ (Ctrl+C stops it)", listener.local_addr()?);
    answer_all(&listener, site);
    Ok(())
}

/// Opens the requested port or fails. The default port gives way to any free one.
fn listen(port: Option<u16>) -> Result<TcpListener> {
    let wanted = port.unwrap_or(DEFAULT_PORT);
    let listener = match bind(wanted) {
        Err(error) if port.is_none() && error.kind() == ErrorKind::AddrInUse => bind(0),
        bound => bound,
    };
    listener.with_context(|| format!("could not open port {wanted}"))
}

fn bind(port: u16) -> io::Result<TcpListener> {
    TcpListener::bind((Ipv4Addr::LOCALHOST, port))
}

/// Gives each connection a thread: browsers open some ahead of time, and those must not block the others.
fn answer_all(listener: &TcpListener, site: &Path) {
    let site: Arc<Path> = site.into();
    for stream in listener.incoming().flatten() {
        let site = site.clone();
        // A browser may disconnect at any time; that isn't worth reporting.
        thread::spawn(move || drop(answer(stream, &site)));
    }
}

fn answer(mut stream: TcpStream, site: &Path) -> io::Result<()> {
    stream.set_read_timeout(Some(PATIENCE))?;
    let mut head = Vec::new();
    let answer = loop {
        let mut headers = [EMPTY_HEADER; HEADERS];
        let mut request = Request::new(&mut headers);
        match request.parse(&head) {
            Ok(Status::Complete(_)) => break Answer::to(&request, site),
            Ok(Status::Partial) if head.len() < HEAD_BYTES => {
                let mut more = [0; 4096];
                match stream.read(&mut more)? {
                    0 => return Ok(()),
                    count => head.extend_from_slice(&more[..count]),
                }
            }
            _ => break Answer::empty("400 Bad Request"),
        }
    };
    answer.write(&mut stream)?;
    // Closing while there is unread input could discard the response (RFC 9112, 9.6).
    stream.shutdown(Shutdown::Write)?;
    io::copy(&mut stream.take(HEAD_BYTES as u64), &mut io::sink()).map(drop)
}

struct Answer {
    status: &'static str,
    media_type: &'static str,
    body: Vec<u8>,
    /// HEAD wants the headers without the body.
    head_only: bool,
}

impl Answer {
    fn empty(status: &'static str) -> Answer {
        Answer { status, media_type: "text/plain; charset=utf-8", body: Vec::new(), head_only: false }
    }

    fn to(request: &Request, site: &Path) -> Answer {
        let head_only = match request.method {
            Some("GET") => false,
            Some("HEAD") => true,
            _ => return Answer::empty("405 Method Not Allowed"),
        };
        let path = request.path.and_then(|target| path(target, site));
        match path.and_then(|path| Some((media_type(&path), fs::read(&path).ok()?))) {
            Some((media_type, body)) => Answer { status: "200 OK", media_type, body, head_only },
            None => Answer::empty("404 Not Found"),
        }
    }

    fn write(&self, to: &mut impl Write) -> io::Result<()> {
        let Answer { status, media_type, body, head_only } = self;
        // A reload has to show the newest build.
        let head = format!(
            "HTTP/1.1 {status}\r\nAllow: GET, HEAD\r\nContent-Type: {media_type}\r\nContent-Length: {}\r\n\
             Cache-Control: no-store\r\nConnection: close\r\n\r\n",
            body.len()
        );
        to.write_all(head.as_bytes())?;
        if *head_only { Ok(()) } else { to.write_all(body) }
    }
}

/// The file that a request target refers to, if it is in the folder.
fn path(target: &str, site: &Path) -> Option<PathBuf> {
    let path = target.split('?').next()?.strip_prefix('/')?;
    let name = percent_decode_str(path).decode_utf8().ok()?;
    let mut path = site.to_owned();
    for part in name.split('/') {
        // Refuse anything that could lead out of the folder on any system, and hidden files.
        if part.starts_with('.') || part.contains(['\\', ':', '\0']) {
            return None;
        }
        path.push(part);
    }
    if name.is_empty() || name.ends_with('/') {
        path.push("index.html");
    }
    path.is_file().then_some(path)
}

/// The media types (IANA) of the site's files; all text is UTF-8.
fn media_type(path: &Path) -> &'static str {
    match path.extension().and_then(|extension| extension.to_str()) {
        Some("html") => "text/html; charset=utf-8",
        Some("js") => "text/javascript; charset=utf-8",
        Some("css") => "text/css; charset=utf-8",
        Some("ts" | "txt") => "text/plain; charset=utf-8",
        Some("wasm") => "application/wasm",
        Some("svg") => "image/svg+xml",
        Some("woff2") => "font/woff2",
        Some("png") => "image/png",
        Some("webmanifest") => "application/manifest+json",
        _ => "application/octet-stream",
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A folder with a site in it, and a secret next to the site.
    fn folder() -> Result<tempfile::TempDir> {
        let folder = tempfile::tempdir()?;
        std::fs::create_dir(folder.path().join("site"))?;
        for name in ["secret.txt", "site/index.html", "site/a.js", "site/a.css", "site/a.wasm"] {
            std::fs::write(folder.path().join(name), format!("content of {name}"))?;
        }
        Ok(folder)
    }

    /// The responses on a real socket to requests sent verbatim, all open at the same time.
    fn answers<const N: usize>(requests: [&str; N]) -> Result<[String; N]> {
        let folder = folder()?;
        let listener = listen(Some(0))?;
        let address = listener.local_addr()?;
        let site = folder.path().join("site");
        thread::spawn(move || answer_all(&listener, &site));

        let mut streams = Vec::new();
        for _ in requests {
            streams.push(TcpStream::connect(address)?);
        }
        let mut answers = [const { String::new() }; N];
        // The last connection asks first: those before it must not block it.
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
        let [html, js, css, wasm] = answers(["GET /", "GET /a.js?again", "GET /%61.css", "GET /a.wasm"])?;
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
            "GET /site/../../secret.txt",
            "GET secret.txt",
            "GET http://localhost/../secret.txt",
            "GET /%",
            "GET /%ff",
            "GET /a.js/",
            "GET /nothing.js",
        ])? {
            assert!(answer.starts_with("http/1.1 4") && !answer.contains("content of"), "{answer}");
        }
        Ok(())
    }

    #[test]
    fn only_get_and_head_are_answered() -> Result<()> {
        let [head, post] = answers(["HEAD /", "POST /"])?;
        assert!(head.starts_with("http/1.1 200") && !head.contains("content of"), "{head}");
        assert!(
            head.contains(&format!("content-length: {}\r\n", "content of site/index.html".len())),
            "{head}"
        );
        assert!(post.starts_with("http/1.1 405"), "{post}");
        Ok(())
    }

    #[test]
    fn what_is_not_http_is_refused() -> Result<()> {
        let endless = format!("GET /{}", "a".repeat(2 * HEAD_BYTES));
        for answer in answers(["GET", "\0", &endless])? {
            assert!(answer.starts_with("http/1.1 400"), "{answer}");
        }
        Ok(())
    }

    #[test]
    fn a_taken_port_is_an_error_when_asked_for() -> Result<()> {
        let taken = std::net::TcpListener::bind((Ipv4Addr::LOCALHOST, 0))?;
        let port = taken.local_addr()?.port();
        let refused = listen(Some(port));
        assert!(refused.is_err_and(|error| error.to_string().contains(&port.to_string())));
        Ok(())
    }
}
