//! `pack RIG-FOLDER OUT.fmu`: description, binary, rig and course in one archive.

use std::error::Error;
use std::fs;
use std::io::{Cursor, Write};
use std::path::Path;
use std::process::ExitCode;

use easeoff_fmu::{COURSE, EaseoffPlant, IDENTIFIER, RIG};
use easeoff_sim::files::folder::Folder;
use easeoff_sim::files::{course, mistake, rig};
use easeoff_sim::results::write_file;
use fmi::schema::fmi3::{Fmi3CoSimulation, Fmi3ModelDescription};
use fmi::schema::traits::FmiModelDescription;
use fmi_export::fmi3::Model;
use zip::ZipWriter;
use zip::write::SimpleFileOptions;

/// The folder of a platform in an FMU: architecture and system by their names in the standard.
fn platform() -> String {
    let system = if cfg!(target_os = "macos") { "darwin" } else { std::env::consts::OS };
    format!("{}-{system}", std::env::consts::ARCH)
}

fn description() -> Result<String, Box<dyn Error>> {
    let metadata = EaseoffPlant::build_toplevel_metadata();
    let description = Fmi3ModelDescription {
        fmi_version: "3.0".into(),
        model_name: "easeoff plant".into(),
        instantiation_token: EaseoffPlant::INSTANTIATION_TOKEN.into(),
        generation_tool: Some(format!("easeoff {}", env!("CARGO_PKG_VERSION"))),
        co_simulation: Some(Fmi3CoSimulation {
            model_identifier: IDENTIFIER.into(),
            can_handle_variable_communication_step_size: Some(true),
            ..Fmi3CoSimulation::default()
        }),
        model_variables: metadata.model_variables,
        model_structure: metadata.model_structure,
        ..Fmi3ModelDescription::default()
    };
    let body = description.serialize()?;
    Ok(format!("<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n{body}\n"))
}

/// A file of the archive: its name in it and its content.
type Entry = (String, Vec<u8>);

/// Rig and course as the library reads them. What is wrong in their files is reported here, with its line.
fn resources(folder: &Path) -> Result<[Entry; 2], Box<dyn Error>> {
    let folder = Folder::Disk(folder.to_owned());
    let source = |name: &str| folder.read(name).map_err(|refusal| refusal.render());
    let rig = rig::read(&source("rig.toml")?).map_err(|refusal| refusal.render())?;
    let course = course::read(&source("course.toml")?, &folder)
        .map_err(|refusals| mistake::render(&refusals))?;
    Ok([
        (format!("resources/{RIG}"), serde_json::to_vec_pretty(&rig)?),
        (format!("resources/{COURSE}"), serde_json::to_vec_pretty(&course)?),
    ])
}

fn main() -> ExitCode {
    match packed() {
        Ok(()) => ExitCode::SUCCESS,
        Err(error) => {
            eprintln!("{error}");
            ExitCode::FAILURE
        }
    }
}

fn packed() -> Result<(), Box<dyn Error>> {
    let mut arguments = std::env::args_os().skip(1);
    let (Some(folder), Some(out)) = (arguments.next(), arguments.next()) else {
        return Err("usage: pack RIG-FOLDER OUT.fmu".into());
    };
    // The library is built next to this program, in the same workspace.
    let built = std::env::current_exe()?;
    let (prefix, suffix) = (std::env::consts::DLL_PREFIX, std::env::consts::DLL_SUFFIX);
    let library = fs::read(built.with_file_name(format!("{prefix}easeoff_fmu{suffix}")))?;
    let mut files = vec![
        ("modelDescription.xml".to_owned(), description()?.into_bytes()),
        (format!("binaries/{}/{IDENTIFIER}{suffix}", platform()), library),
    ];
    files.extend(resources(Path::new(&folder))?);
    let mut archive = ZipWriter::new(Cursor::new(Vec::new()));
    for (name, content) in files {
        archive.start_file(name, SimpleFileOptions::default())?;
        archive.write_all(&content)?;
    }
    let out = Path::new(&out);
    // An older one is replaced, nothing else: an archive begins so.
    write_file(out, archive.finish()?.get_ref(), b"PK\x03\x04")?;
    println!("Wrote {}", out.display());
    Ok(())
}
