//! From the raw modules to what a browser loads: the modules, their JavaScript glue, and the static files beside them.

use anyhow::Result;
use std::path::Path;
use walkdir::WalkDir;
use wasm_bindgen_cli_support::Bindgen;

use crate::looks;

/// The module that draws the page, and those that are fetched when a reader asks for what they do.
const PAGE: [&str; 3] = ["halfbar_wasm", "halfbar_desk", "halfbar_paper"];
/// The module inside the element, and the one that it fetches for its sound.
const ELEMENT: [&str; 2] = ["halfbar_widget", "halfbar_desk"];

/// A module and its glue as one classic script needs them.
pub(crate) struct Script {
    /// Its name, which the glue defines.
    pub(crate) name: &'static str,
    pub(crate) glue: String,
    pub(crate) wasm: Vec<u8>,
}

/// Fills the site's folder, made anew so that nothing old stays behind.
pub(crate) fn site(modules: &Path, www: &Path, site: &Path) -> Result<()> {
    if site.exists() {
        fs_err::remove_dir_all(site)?;
    }
    PAGE.iter().chain(&ELEMENT[..1]).try_for_each(|name| module(modules, name, site))?;
    fs_err::write(site.join(looks::NAME), looks::module(www)?)?;
    for entry in WalkDir::new(www).min_depth(1) {
        let entry = entry?;
        let to = site.join(entry.path().strip_prefix(www)?);
        if entry.file_type().is_dir() {
            fs_err::create_dir_all(to)?;
        } else {
            fs_err::copy(entry.path(), to)?;
        }
    }
    // It is in the module.
    Ok(fs_err::remove_file(site.join(looks::INSIDE))?)
}

/// Puts the modules of the element, and the one with its looks, into a folder.
pub(crate) fn element(modules: &Path, www: &Path, folder: &Path) -> Result<()> {
    fs_err::write(folder.join(looks::NAME), looks::module(www)?)?;
    ELEMENT.into_iter().try_for_each(|name| module(modules, name, folder))
}

/// Puts a module and its glue into a folder.
fn module(modules: &Path, name: &str, folder: &Path) -> Result<()> {
    // Without the default path, `init()` would not know where the module is.
    bindgen(modules, name).web(true)?.omit_default_module_path(false).typescript(true).generate(folder)
}

/// The page's modules for a page that stands alone.
pub(crate) fn scripts(modules: &Path) -> Result<Vec<Script>> {
    let scripts = PAGE.iter().map(|&name| {
        let mut bindgen = bindgen(modules, name);
        let mut output = bindgen
            .no_modules(true)?
            .no_modules_global(name)?
            .omit_default_module_path(true)
            .generate_output()?;
        Ok(Script { name, glue: output.js().to_owned(), wasm: output.wasm_mut().emit_wasm() })
    });
    scripts.collect()
}

fn bindgen(modules: &Path, name: &str) -> Bindgen {
    let mut bindgen = Bindgen::new();
    let module = modules.join(name).with_extension("wasm");
    bindgen.input_path(module).remove_name_section(true).remove_producers_section(true);
    bindgen
}
