//! A web host for a single scenario, with the site in one of its folders. It can go away and get other versions of the site.

use std::collections::BTreeMap;
use std::net::{Ipv4Addr, SocketAddr, TcpListener};
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicU32, Ordering};

use axum::Router;
use axum::http::HeaderValue;
use axum::http::header::CONTENT_SECURITY_POLICY;
use axum::middleware::map_response;
use axum::response::Response;
use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use halfbar_tests::target;
use sha2::{Digest, Sha256};
use tokio::runtime::Runtime;
use tower_http::services::ServeDir;

use crate::children;

/// Where the site is on the host.
const FOLDER: &str = "guitar/halfbar";
/// What the host's pages may load: their own scripts and styles, and no others.
const POLICY: &str = "default-src 'self'; script-src 'self' 'wasm-unsafe-eval'; img-src 'self' data: blob:";

pub(crate) struct Host {
    root: PathBuf,
    at: SocketAddr,
    running: Option<Runtime>,
}

impl Host {
    /// Starts with the site as it was built.
    pub(crate) fn new() -> Host {
        children::site();
        Host::with(&target().join("site"), FOLDER)
    }

    /// Starts with a copy of a folder, as its top folder.
    pub(crate) fn of(folder: &Path) -> Host {
        Host::with(folder, "")
    }

    fn with(content: &Path, folder: &str) -> Host {
        static COUNT: AtomicU32 = AtomicU32::new(0);
        let name = format!("host-{}-{}", std::process::id(), COUNT.fetch_add(1, Ordering::Relaxed));
        let root = PathBuf::from(env!("CARGO_TARGET_TMPDIR")).join(name);
        let at = SocketAddr::from((Ipv4Addr::LOCALHOST, 0));
        let mut host = Host { root, at, running: None };
        copy(content, &host.root.join(folder));
        host.start();
        host
    }

    /// The page's address.
    pub(crate) fn address(&self) -> String {
        format!("http://{}/{FOLDER}/", self.at)
    }

    /// The address of the top folder.
    pub(crate) fn top(&self) -> String {
        format!("http://{}/", self.at)
    }

    /// Where the site is on disk.
    pub(crate) fn folder(&self) -> PathBuf {
        self.root.join(FOLDER)
    }

    /// Starts to answer, at the same address as before.
    pub(crate) fn start(&mut self) {
        let runtime =
            tokio::runtime::Builder::new_multi_thread().worker_threads(1).enable_all().build().unwrap();
        let listener = TcpListener::bind(self.at).unwrap();
        listener.set_nonblocking(true).unwrap();
        self.at = listener.local_addr().unwrap();
        let guard = runtime.enter();
        let listener = tokio::net::TcpListener::from_std(listener).unwrap();
        drop(guard);
        let policy = |mut response: Response| async {
            response.headers_mut().insert(CONTENT_SECURITY_POLICY, HeaderValue::from_static(POLICY));
            response
        };
        let router = Router::new().fallback_service(ServeDir::new(&self.root)).layer(map_response(policy));
        runtime.spawn(async { axum::serve(listener, router).await });
        self.running = Some(runtime);
    }

    /// Goes away, closing all connections.
    pub(crate) fn stop(&mut self) {
        if let Some(runtime) = self.running.take() {
            runtime.shutdown_background();
        }
    }

    /// Replaces the site with another version: its page, its module and what that loads later say which one it is.
    pub(crate) fn deploy(&self, version: &str) {
        let folder = self.folder();
        std::fs::remove_dir_all(&folder).unwrap();
        copy(&target().join("site"), &folder);
        let read = |name: &str| std::fs::read_to_string(folder.join(name)).unwrap();
        let worker = read("worker.js");
        let built = worker.split("VERSION = \"").nth(1).unwrap().split('"').next().unwrap().to_string();
        std::fs::rename(folder.join(&built), folder.join(version)).unwrap();
        for name in ["index.html", "half-bar.js", "halfbar_widget.js", "worker.js"] {
            let text = read(name).replace(&built, version).replace("<title>", &format!("<title>{version} "));
            std::fs::write(folder.join(name), text).unwrap();
        }
        for (name, says) in [
            ("halfbar_wasm.js", format!("window.built = '{version}';")),
            ("hear.js", format!("// {version}")),
        ] {
            let name = format!("{version}/{name}");
            std::fs::write(folder.join(&name), format!("{}{says}\n", read(&name))).unwrap();
        }
        // The list is made in another way than by the build.
        let worker = read("worker.js");
        let (before, rest) = worker.split_once("FILES = ").unwrap();
        let (list, after) = rest.split_once(";\n").unwrap();
        let mut list: BTreeMap<String, String> = serde_json::from_str(list).unwrap();
        for (name, hash) in &mut list {
            let file = if name.is_empty() { "index.html" } else { name };
            let digest = Sha256::digest(std::fs::read(folder.join(file)).unwrap());
            *hash = format!("sha256-{}", STANDARD.encode(digest));
        }
        let list = serde_json::to_string(&list).unwrap();
        std::fs::write(folder.join("worker.js"), format!("{before}FILES = {list};\n{after}")).unwrap();
    }
}

impl Drop for Host {
    fn drop(&mut self) {
        self.stop();
        let _ = std::fs::remove_dir_all(&self.root);
    }
}

fn copy(from: &Path, to: &Path) {
    std::fs::create_dir_all(to).unwrap();
    for entry in std::fs::read_dir(from).unwrap() {
        let entry = entry.unwrap();
        let to = to.join(entry.file_name());
        match entry.file_type().unwrap().is_dir() {
            true => copy(&entry.path(), &to),
            false => drop(std::fs::copy(entry.path(), to).unwrap()),
        }
    }
}
