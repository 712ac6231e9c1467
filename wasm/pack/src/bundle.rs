//! From the raw modules to what a browser loads: the modules, their JavaScript glue, and the static files.

use anyhow::Result;
use std::path::Path;
use walkdir::WalkDir;
use wasm_bindgen_cli_support::Bindgen;

use crate::looks;

/// The module of the page.
const PAGE: &str = "halfbar_wasm";
/// The module for files of other programs, which the page and the element fetch when they need it.
const EXCHANGE: &str = "halfbar_exchange";
/// The modules for other pages: the inside of the element, its sound, a line for scripts, and files.
const EMBEDDED: [&str; 4] = ["halfbar_widget", "halfbar_sound", "halfbar_piece", EXCHANGE];

/// A module and its glue, for use in a single classic script.
pub(crate) struct Script {
    /// Defines the module's name.
    pub(crate) glue: String,
    pub(crate) wasm: Vec<u8>,
}

/// Fills the site's folder, which is created from scratch so that no old files remain.
pub(crate) fn site(modules: &Path, www: &Path, site: &Path) -> Result<()> {
    if site.exists() {
        fs_err::remove_dir_all(site)?;
    }
    module(modules, PAGE, site)?;
    element(modules, www, site)?;
    for entry in WalkDir::new(www).min_depth(1) {
        let entry = entry?;
        let to = site.join(entry.path().strip_prefix(www)?);
        if entry.file_type().is_dir() {
            fs_err::create_dir_all(to)?;
        } else {
            fs_err::copy(entry.path(), to)?;
        }
    }
    // Its content is in the generated module.
    Ok(fs_err::remove_file(site.join(looks::INSIDE))?)
}

/// Puts the modules for other pages, and the one with the element's styles, into a folder.
pub(crate) fn element(modules: &Path, www: &Path, folder: &Path) -> Result<()> {
    fs_err::write(folder.join(looks::NAME), looks::module(www)?)?;
    EMBEDDED.into_iter().try_for_each(|name| module(modules, name, folder))
}

/// Puts a module and its glue into a folder.
fn module(modules: &Path, name: &str, folder: &Path) -> Result<()> {
    // Without the default path, `init()` would not know where the module is.
    bindgen(modules, name).web(true)?.omit_default_module_path(false).typescript(true).generate(folder)
}

/// The page's module and the one for files, for the single-file page.
pub(crate) fn scripts(modules: &Path) -> Result<[Script; 2]> {
    Ok([script(modules, PAGE)?, script(modules, EXCHANGE)?])
}

fn script(modules: &Path, name: &str) -> Result<Script> {
    let mut bindgen = bindgen(modules, name);
    let mut output = bindgen
        .no_modules(true)?
        .no_modules_global(name)?
        .omit_default_module_path(true)
        .generate_output()?;
    Ok(Script { glue: output.js().to_owned(), wasm: output.wasm_mut().emit_wasm() })
}

fn bindgen(modules: &Path, name: &str) -> Bindgen {
    let mut bindgen = Bindgen::new();
    let module = modules.join(name).with_extension("wasm");
    bindgen.input_path(module).remove_name_section(true).remove_producers_section(true);
    bindgen
}
