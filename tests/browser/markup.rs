//! What the Nu HTML Checker (npm `vnu-jar`, MIT), which the WHATWG and W3C use, says about every page that the project writes, and about the
//! pages after their scripts have run.

use std::fs;
use std::process::Command;

use halfbar_tests::{program, target, top};
use serde::Deserialize;
use serde_json::Value;

use crate::expected::LINE;
use crate::page::Page;

scenarios! {
    served (Served): the_page_is_right_as_it_comes_and_as_it_is_drawn;
    lesson (Lesson): the_lesson_is_right_as_it_comes_and_as_it_is_drawn;
}

#[test]
fn what_is_written_is_right() {
    let folder = target().join("markup");
    let _ = fs::remove_dir_all(&folder);
    fs::create_dir_all(folder.join("lines")).unwrap();
    fs::write(folder.join("lines/week-12.txt"), LINE).unwrap();
    fs::write(folder.join("lines/odd & <names>.txt"), LINE.replace("Week 12", "\"A\" & <b>")).unwrap();
    let at = |name: &str| folder.join(name).display().to_string();
    let halfbar = target().join("debug/halfbar").display().to_string();
    let lines = at("lines");
    let files: Vec<String> =
        fs::read_dir(&lines).unwrap().map(|file| file.unwrap().path().display().to_string()).collect();
    let asked = ["worksheet", "--html", "--answers", "--recast-yourself", "--title", "Steps & <b>leaps</b>"];
    let asked: Vec<&str> = asked.into_iter().chain(files.iter().map(String::as_str)).collect();
    fs::write(at("worksheet.html"), program(&halfbar, &asked)).unwrap();
    for kind in ["half-bar", "html"] {
        program(&halfbar, &["render", &lines, "--to", kind, "--out", &at(kind)]);
    }
    // The markup is a fragment, so it needs a page around it.
    let mut post =
        String::from("<!doctype html>\n<html lang=\"en\">\n<title>A post</title>\n<h1>A post</h1>\n");
    let parts: Vec<_> = fs::read_dir(at("half-bar")).unwrap().map(|file| file.unwrap().path()).collect();
    assert_eq!(parts.len(), 2, "{parts:?}");
    for part in parts {
        post += &fs::read_to_string(part).unwrap();
    }
    fs::write(at("post.html"), post).unwrap();
    let one_file = target().join("halfbar.html").display().to_string();
    check(&[&at("worksheet.html"), &at("html"), &at("post.html"), &one_file]);
    let read = |name: &str| top().join("www").join(name).display().to_string();
    // Not the lesson's: the checker doesn't know CSS Shadow Parts.
    check_style(&[&read("style.css"), &read("half-bar.css")]);
}

async fn the_page_is_right_as_it_comes_and_as_it_is_drawn(page: Page) {
    page.open_with(1280, LINE).await;
    page.unfold().await;
    page.click_pad(3, 1).await;
    page.show_part("lines").await;
    page.until("the lines are listed", "return all('#lines li').length > 0").await;
    page.go_to_end_of_text().await;
    page.keys("H4").await;
    let drawn = as_drawn(&page, "page").await;
    check(&[page.address(), &drawn]);
}

async fn the_lesson_is_right_as_it_comes_and_as_it_is_drawn(page: Page) {
    page.resize(1280).await;
    page.go().await;
    page.js::<Value>("return Promise.all(all('half-bar').map((one) => one.ready()))").await;
    // The inside of each element, as a separate page.
    let inside: Vec<String> = page
        .js("return all('half-bar').map(({ shadowRoot }) =>
            `<!doctype html>\\n<html lang=\"en\">\\n<title>Inside</title>\\n<h1>Inside</h1>\\n${shadowRoot.innerHTML}`)")
        .await;
    let inside = inside.iter().enumerate().map(|(index, drawn)| saved(&format!("example-{index}"), drawn));
    let documents: Vec<String> = [page.address().to_string()].into_iter().chain(inside).collect();
    check(&documents.iter().map(String::as_str).collect::<Vec<_>>());
}

async fn as_drawn(page: &Page, name: &str) -> String {
    let drawn: String = page.js("return `<!doctype html>\\n${document.documentElement.outerHTML}`").await;
    saved(name, &drawn)
}

fn saved(name: &str, document: &str) -> String {
    let folder = target().join("markup-drawn");
    fs::create_dir_all(&folder).unwrap();
    let file = folder.join(format!("{name}.html"));
    fs::write(&file, document).unwrap();
    file.display().to_string()
}

#[derive(Deserialize)]
struct Report {
    messages: Vec<Message>,
}

#[derive(Deserialize)]
struct Message {
    url: String,
    #[serde(rename = "lastLine", default)]
    line: u32,
    message: String,
    #[serde(default)]
    extract: String,
}

/// What the checker doesn't know yet: CSS Shadow Parts (W3C), 2.1, and CSS Anchor Positioning (W3C), 3.1 and 4.2.
const UNKNOWN: &str =
    ".*(Attribute .part. not allowed|Property .position-(area|try-fallbacks). doesn.t exist).*";

/// These documents have no errors and no warnings.
fn check(documents: &[&str]) {
    let found = checker(&[&["--filterpattern", UNKNOWN], documents].concat());
    assert!(found.is_empty(), "{found:#?}");
}

fn check_style(files: &[&str]) {
    let found = checker(&[&["--filterpattern", UNKNOWN, "--css"], files].concat());
    assert!(found.is_empty(), "{found:#?}");
}

fn checker(arguments: &[&str]) -> Vec<String> {
    let checker = target().join("checkers/node_modules/vnu-jar/build/dist/vnu.jar");
    assert!(checker.exists(), "no {}: `tests/run` installs it", checker.display());
    let output = Command::new("java")
        // The site is served on this machine.
        .args(["-Dnu.validator.servlet.allow-forbidden-hosts=true", "-jar"])
        .arg(checker)
        .args(["--format", "json", "--stdout", "--exit-zero-always"])
        .args(arguments)
        .output()
        .unwrap_or_else(|error| panic!("java: {error}"));
    let said = String::from_utf8_lossy(&output.stdout);
    let report: Report = serde_json::from_str(&said)
        .unwrap_or_else(|error| panic!("{error}: {said} {}", String::from_utf8_lossy(&output.stderr)));
    let told = report.messages.into_iter();
    told.map(|Message { url, line, message, extract }| format!("{url}:{line}: {message} {extract}")).collect()
}
