//! Folders for the files of a browser.

use std::path::{Path, PathBuf};
use std::sync::Once;
use std::sync::atomic::{AtomicU32, Ordering};

/// A new folder, removed when this is dropped.
pub(crate) struct Folder(pub(crate) PathBuf);

impl Folder {
    pub(crate) fn new(what: &str) -> Folder {
        static COUNT: AtomicU32 = AtomicU32::new(0);
        static CLEAN: Once = Once::new();
        let all = Path::new(env!("CARGO_TARGET_TMPDIR")).join("browsers");
        CLEAN.call_once(|| remove_others(&all));
        let folder = all.join(std::process::id().to_string());
        let folder = folder.join(format!("{what}-{}", COUNT.fetch_add(1, Ordering::Relaxed)));
        std::fs::create_dir_all(&folder).unwrap();
        Folder(folder)
    }
}

impl Drop for Folder {
    fn drop(&mut self) {
        let _ = std::fs::remove_dir_all(&self.0);
    }
}

/// Removes what earlier test runs left: browsers that are kept until the end can't clean up after themselves.
fn remove_others(all: &Path) {
    for folder in std::fs::read_dir(all).into_iter().flatten().flatten() {
        if !Path::new("/proc").join(folder.file_name()).exists() {
            let _ = std::fs::remove_dir_all(folder.path());
        }
    }
}
