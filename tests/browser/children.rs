//! The programs that the scenarios need: the server of the page, the drivers of the browsers, and a screen and sound for browsers that need them.

use std::io::{BufRead, BufReader};
use std::net::{Ipv4Addr, TcpListener, TcpStream};
use std::os::unix::process::CommandExt;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::sync::OnceLock;
use std::time::{Duration, Instant};

use halfbar_tests::top;

/// How long a program may take to answer. It is long because a busy machine is not the program's fault.
const PATIENCE: Duration = Duration::from_secs(30);

/// A program that runs until this is dropped or the tests end for whatever reason.
pub(crate) struct Guarded {
    /// What its first line says: an address or a number.
    says: String,
    /// Holds the pipe that ends the program when it is closed.
    shell: Child,
}

impl Drop for Guarded {
    fn drop(&mut self) {
        drop(self.shell.stdin.take());
        let _ = self.shell.wait();
    }
}

/// The address of the page, served by `cargo site`.
pub(crate) fn site() -> &'static str {
    static SITE: OnceLock<Guarded> = OnceLock::new();
    let site = SITE.get_or_init(|| {
        let cargo = std::env::var("CARGO").unwrap_or_else(|_| "cargo".into());
        // Port 0 means any free one.
        start(&[&cargo, "site", "--port", "0"], &[], "Halfbar is at ", " ")
    });
    &site.says
}

/// The address of Chromium's driver, which handles any number of browsers.
pub(crate) fn chromedriver() -> String {
    static DRIVER: OnceLock<Guarded> = OnceLock::new();
    let driver =
        DRIVER.get_or_init(|| start(&["chromedriver", "--port=0"], &[], "successfully on port ", "."));
    at(&driver.says)
}

/// A driver for a single browser that keeps its files in `home`, and its address. The browser can play sound, and has a screen if it needs one.
pub(crate) fn driver(program: &str, home: &Path, screen: Option<&Guarded>) -> (Guarded, String) {
    let (port, home) = (free_port(), home.to_str().unwrap());
    let mut env = vec![("HOME", home), ("XDG_RUNTIME_DIR", home), ("PULSE_SERVER", sound())];
    let display = screen.map(|screen| format!(":{}", screen.says));
    env.extend(display.iter().map(|display| ("DISPLAY", display.as_str())));
    let driver = start(&[program, &format!("--port={port}")], &env, "", "");
    wait_for(program, &port);
    (driver, at(&port))
}

/// A virtual screen. If two browsers shared one, only one of them would get the keys.
pub(crate) fn screen() -> Guarded {
    // It prints its number and nothing else.
    let screen =
        "Xvfb -displayfd 1 -screen 0 1600x1200x24 -nolisten tcp 2>/dev/null | sed -u 's/.*/display &,/'";
    start(&["sh", "-c", screen], &[], "display ", ",")
}

/// The address of a sound server without an output. In Firefox, a page's audio clock stands still if there is none.
fn sound() -> &'static str {
    static SOUND: OnceLock<(Guarded, String)> = OnceLock::new();
    let (_, address) = SOUND.get_or_init(|| {
        let home = PathBuf::from(env!("CARGO_TARGET_TMPDIR")).join("sound");
        std::fs::create_dir_all(&home).unwrap();
        let (home, port) = (home.to_str().unwrap(), free_port());
        let listen =
            format!("--load=module-native-protocol-tcp auth-anonymous=1 listen=127.0.0.1 port={port}");
        let server = start(
            &[
                "pulseaudio",
                "-n",
                "--daemonize=no",
                "--exit-idle-time=-1",
                "--use-pid-file=no",
                "--realtime=no",
                "--high-priority=no",
                "--load=module-null-sink",
                &listen,
            ],
            &[("HOME", home), ("XDG_RUNTIME_DIR", home)],
            "",
            "",
        );
        wait_for("pulseaudio", &port);
        (server, format!("tcp:127.0.0.1:{port}"))
    });
    address
}

fn at(port: &str) -> String {
    format!("http://127.0.0.1:{port}")
}

/// A free port, for programs that don't say which one they chose.
fn free_port() -> String {
    let listener = TcpListener::bind((Ipv4Addr::LOCALHOST, 0)).unwrap();
    listener.local_addr().unwrap().port().to_string()
}

fn wait_for(program: &str, port: &str) {
    let start = Instant::now();
    while TcpStream::connect(format!("127.0.0.1:{port}")).is_err() {
        assert!(start.elapsed() < PATIENCE, "{program} doesn't answer at port {port}");
        std::thread::sleep(Duration::from_millis(20));
    }
}

/// Starts a program in the workspace's top folder, waits for a line with `before`, and keeps what follows there up to `after`. Doesn't wait
/// if both are empty.
fn start(words: &[&str], env: &[(&str, &str)], before: &str, after: &str) -> Guarded {
    // Statics are never dropped, and a test may be killed. So a shell waits until its input is closed, which happens when the tests
    // end, and then ends its whole process group: the program and the browsers that it started. Only the program has the output, which
    // ends with it.
    let mut shell = Command::new("sh")
        .args(["-c", r#""$@" & exec >&-; read -r end; kill -KILL 0"#, "sh"])
        .args(words)
        .envs(env.iter().copied())
        .current_dir(top())
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        // Desktop programs complain about everything that a server doesn't have.
        .stderr(if before.is_empty() { Stdio::null() } else { Stdio::inherit() })
        .process_group(0)
        .spawn()
        .unwrap_or_else(|error| panic!("sh, for {words:?}: {error}"));
    let mut rows = BufReader::new(shell.stdout.take().unwrap()).lines().map_while(Result::ok);
    let mut says = String::new();
    if !before.is_empty() {
        let mut heard = Vec::new();
        let found = rows.by_ref().find_map(|row| {
            let says =
                row.split_once(before).and_then(|(_, rest)| Some(rest.split_once(after)?.0.to_string()));
            heard.push(row);
            says
        });
        says = found.unwrap_or_else(|| panic!("{words:?} ended without `{before}`: {heard:#?}"));
    }
    // A full pipe would block the program.
    std::thread::spawn(move || rows.for_each(drop));
    Guarded { says, shell }
}
