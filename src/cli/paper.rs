//! The manual page and the words for a shell, both from the definitions of the arguments.

use super::args::Args;
use crate::diag::Problem;
use clap::CommandFactory;
use clap_complete::Shell;
use clap_mangen::Man;

/// What a shell reads to complete commands and options.
pub(super) fn shell_words(shell: Shell) -> Vec<u8> {
    let mut words = Vec::new();
    clap_complete::generate(shell, &mut Args::command(), "gapwright", &mut words);
    words
}

/// One page for man: the program, then every command with its options.
pub(super) fn manual() -> Result<Vec<u8>, Vec<Problem>> {
    written().map_err(|error| {
        vec![Problem::new(
            format!("the manual page cannot be written ({error})"),
            "use gapwright help instead, and tell the project",
        )]
    })
}

fn written() -> std::io::Result<Vec<u8>> {
    let mut page = Vec::new();
    let program = Args::command();
    Man::new(program.clone()).render(&mut page)?;
    for command in program.get_subcommands() {
        let mut command = command.clone();
        let name = format!("gapwright {}", command.get_name());
        command = command.display_name(name.clone()).bin_name(name.clone());
        let man = Man::new(command);
        page.extend_from_slice(format!(".SH \"{}\"\n", name.to_uppercase()).as_bytes());
        let mut part = Vec::new();
        man.render_synopsis_section(&mut part)?;
        man.render_description_section(&mut part)?;
        man.render_options_section(&mut part)?;
        man.render_extra_section(&mut part)?;
        // Headings of the command are one level below its own.
        let part = String::from_utf8_lossy(&part).replace(".SH ", ".SS ");
        page.extend_from_slice(part.as_bytes());
    }
    Ok(page)
}
