//! `easeoff man`: the manual page.

use clap_mangen::Man as Page;
use clap_mangen::roff::{Roff, roman};
use serde_json::json;

use super::failure::Failure;
use super::{Outcome, definition};

/// The manual page asks for nothing.
#[derive(clap::Args)]
pub(super) struct Man {}

impl Man {
    pub(super) fn run(&self) -> Result<Outcome, Failure> {
        let text = page().map_err(Failure::Output)?;
        let record = json!({ "page": text });
        Ok(Outcome { text, record })
    }
}

/// One page: the program, then a section for each command with its own options.
fn page() -> std::io::Result<String> {
    let mut whole = definition();
    whole.build();
    let mut out = Vec::new();
    let page = Page::new(whole.clone());
    // An empty date in quotes, so that what follows is not taken for it.
    let version = env!("CARGO_PKG_VERSION");
    out.extend(format!(".TH EASEOFF 1 \"\" \"easeoff {version}\"\n").as_bytes());
    page.render_name_section(&mut out)?;
    page.render_synopsis_section(&mut out)?;
    page.render_description_section(&mut out)?;
    page.render_options_section(&mut out)?;
    for command in whole.get_subcommands().filter(|command| command.get_name() != "help") {
        let mut head = Roff::new();
        head.control("SH", [format!("easeoff {}", command.get_name()).as_str()]);
        let about = command.get_long_about().or(command.get_about());
        let about = about.map(ToString::to_string).unwrap_or_default();
        for (index, paragraph) in about.split("\n\n").enumerate() {
            if index > 0 {
                head.control("PP", []);
            }
            head.text([roman(paragraph)]);
        }
        head.to_writer(&mut out)?;
        let mut options = Vec::new();
        Page::new(own(command)).render_options_section(&mut options)?;
        // Under the command's own heading.
        let options = String::from_utf8_lossy(&options).replace(".SH OPTIONS", ".SS Options");
        if options.contains(".TP") {
            out.extend(options.as_bytes());
        }
    }
    let mut end = Roff::new();
    end.control("SH", ["EXIT STATUS"]);
    for (code, meaning) in super::EXIT_CODES {
        end.control("TP", []);
        end.text([roman(code.to_string())]);
        end.text([roman(*meaning)]);
    }
    end.to_writer(&mut out)?;
    Ok(String::from_utf8_lossy(&out).into_owned())
}

/// A command without what every command takes, which stands at the page's top.
fn own(command: &clap::Command) -> clap::Command {
    let common = |id: &clap::Id| definition().get_arguments().any(|known| known.get_id() == id);
    command.clone().mut_args(|argument| {
        let hidden = argument.get_id() == "help" || common(argument.get_id());
        if hidden { argument.hide(true) } else { argument }
    })
}
