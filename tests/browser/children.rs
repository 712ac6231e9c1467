//! The two programs that the scenarios share: the server of the page, and the driver of browsers.

use std::io::{BufRead, BufReader};
use std::os::unix::process::CommandExt;
use std::process::{Child, Command, Stdio};
use std::sync::OnceLock;

use halfbar_tests::top;

/// A program that runs until the tests end, however they end.
struct Guarded {
    /// What its announcing line says: an address or a port.
    says: String,
    /// Holds the pipe whose closing ends the program.
    _shell: Child,
}

/// The address of the page, served by `cargo site`.
pub(crate) fn site() -> &'static str {
    static SITE: OnceLock<Guarded> = OnceLock::new();
    let site = SITE.get_or_init(|| {
        let cargo = std::env::var("CARGO").unwrap_or_else(|_| "cargo".into());
        // Port 0 is any free one.
        start(&[&cargo, "site", "--port", "0"], "Halfbar is at ", " ")
    });
    &site.says
}

/// The address of the driver.
pub(crate) fn driver() -> String {
    static DRIVER: OnceLock<Guarded> = OnceLock::new();
    let driver = DRIVER.get_or_init(|| start(&["chromedriver", "--port=0"], "successfully on port ", "."));
    format!("http://127.0.0.1:{}", driver.says)
}

/// Starts a program in the workspace's top folder and waits for the line with `before`; what follows there, up to `after`, is kept.
fn start(words: &[&str], before: &str, after: &str) -> Guarded {
    // Statics are never dropped and a test may be killed, so a shell waits for the end of its input, which comes with the end of
    // the tests, and then ends its whole process group: the program and the browsers that it started.
    let mut shell = Command::new("sh")
        .args(["-c", r#""$@" & read -r end; kill -KILL 0"#, "sh"])
        .args(words)
        .current_dir(top())
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .process_group(0)
        .spawn()
        .unwrap_or_else(|error| panic!("sh, for {words:?}: {error}"));
    let mut rows = BufReader::new(shell.stdout.take().unwrap()).lines().map_while(Result::ok);
    let mut heard = Vec::new();
    let says = rows.by_ref().find_map(|row| {
        let says = row.split_once(before).and_then(|(_, rest)| Some(rest.split_once(after)?.0.to_string()));
        heard.push(row);
        says
    });
    let says = says.unwrap_or_else(|| panic!("{words:?} ended without `{before}`: {heard:#?}"));
    // A full pipe would stop the program.
    std::thread::spawn(move || rows.for_each(drop));
    Guarded { says, _shell: shell }
}
