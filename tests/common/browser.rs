//! A real browser without a screen, and a hand in it.

#![allow(clippy::panic)]

use serde_json::Value;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

const HANDS: &str = include_str!("../page/hands.js");
const STEADY: &str = include_str!("../page/steady.js");

/// Chromium on the path; without it a test is skipped, with a message.
pub fn browser() -> Option<PathBuf> {
    let paths = std::env::var_os("PATH")?;
    let found = std::env::split_paths(&paths)
        .flat_map(|folder| ["chromium", "chromium-browser"].map(|name| folder.join(name)))
        .find(|path| path.is_file());
    if found.is_none() {
        eprintln!("skipped: there is no Chromium on this machine");
    }
    found
}

/// Opens `page` with the hands and a script that uses them, and gives what the script put into the page.
/// Whatever the browser's console says fails the test, driver's remarks on speed aside.
pub fn driven(browser: &Path, page: &str, script: &str, more: &[&str]) -> Value {
    let folder = tempfile::tempdir().unwrap();
    let html = page
        .replace("<body>", &format!("<body><script>{STEADY}</script>"))
        .replace(
            "</body>",
            &format!("<script>{HANDS}</script><script>{script}</script></body>"),
        );
    let path = folder.path().join("driven.html");
    fs::write(&path, html).unwrap();
    let run = Command::new(browser)
        .args([
            "--headless",
            "--no-sandbox",
            "--disable-gpu",
            "--disable-quic",
            "--no-first-run",
            "--disable-background-networking",
            "--disable-component-update",
            "--disable-sync",
            "--use-gl=angle",
            "--use-angle=swiftshader",
            "--enable-unsafe-swiftshader",
            "--enable-logging=stderr",
            "--window-size=1200,800",
            "--virtual-time-budget=30000",
            "--dump-dom",
        ])
        .args(more)
        .arg(format!(
            "--user-data-dir={}",
            folder.path().join("profile").display()
        ))
        .arg(format!("file://{}", path.display()))
        .output()
        .unwrap();
    let log = String::from_utf8_lossy(&run.stderr);
    let said: Vec<&str> = log
        .lines()
        .filter(|line| line.contains("CONSOLE") && !line.contains("GL Driver Message"))
        .collect();
    assert!(said.is_empty(), "{said:?}");
    let dom = String::from_utf8_lossy(&run.stdout);
    let told = dom
        .split_once("<pre id=\"told\">")
        .and_then(|(_, rest)| rest.split_once("</pre>"))
        .unwrap_or_else(|| panic!("the script did not end\n{log}"));
    serde_json::from_str(&told.0.replace("&gt;", ">").replace("&amp;", "&")).unwrap()
}
