//! From the raw module to what a browser loads: the module, its JavaScript glue, and the static files beside them.

use anyhow::Result;
use std::path::Path;
use walkdir::WalkDir;
use wasm_bindgen_cli_support::Bindgen;

/// The module and its glue as one classic script needs them.
pub(crate) struct Script {
    /// Defines `wasm_bindgen`.
    pub(crate) glue: String,
    pub(crate) wasm: Vec<u8>,
}

/// Fills the site's folder, made anew so that nothing old stays behind.
pub(crate) fn site(module: &Path, www: &Path, site: &Path) -> Result<()> {
    if site.exists() {
        fs_err::remove_dir_all(site)?;
    }
    // Without the default path, `init()` would not know where the module is.
    bindgen(module).web(true)?.omit_default_module_path(false).typescript(true).generate(site)?;
    for entry in WalkDir::new(www).min_depth(1) {
        let entry = entry?;
        let to = site.join(entry.path().strip_prefix(www)?);
        if entry.file_type().is_dir() {
            fs_err::create_dir_all(to)?;
        } else {
            fs_err::copy(entry.path(), to)?;
        }
    }
    Ok(())
}

/// The same module for a page that stands alone.
pub(crate) fn script(module: &Path) -> Result<Script> {
    let mut output = bindgen(module).no_modules(true)?.omit_default_module_path(true).generate_output()?;
    Ok(Script { glue: output.js().to_owned(), wasm: output.wasm_mut().emit_wasm() })
}

fn bindgen(module: &Path) -> Bindgen {
    let mut bindgen = Bindgen::new();
    bindgen.input_path(module).remove_name_section(true).remove_producers_section(true);
    bindgen
}
