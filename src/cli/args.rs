//! The commands and what they take.

use clap::{Parser, Subcommand, ValueEnum};
use std::path::PathBuf;

/// From two phone scans to a closeout panel that fits the gap between a vehicle's body and its undertray.
#[derive(Debug, Parser)]
#[command(
    version,
    arg_required_else_help = true,
    after_help = "The usual way:\n  \
        gapwright inspect body.ply tray.ply     can I trust these scans?\n  \
        gapwright new body.ply tray.ply         write job.toml to start from\n  \
        gapwright measure job.toml              what is the gap, and how sure are we?\n  \
        gapwright verify job.toml out/readings.csv\n                                          do tape and caliper agree with the scan?\n  \
        gapwright make job.toml                 panel, printable segments, build sheet\n\n\
        Then open sheet.html in the folder it names.\n\n\
        Exit codes: 0 made, or verify says go; 1 verify says shim or rescan; 2 could not run."
)]
pub(super) struct Args {
    /// What to do.
    #[command(subcommand)]
    pub command: Command,
    /// Say nothing but errors.
    #[arg(long, global = true)]
    pub quiet: bool,
    /// Print the outcome as JSON on standard output, for programs.
    #[arg(long, global = true)]
    pub json: bool,
}

#[derive(Debug, Subcommand)]
pub(super) enum Command {
    /// Say what is in scan files: size, unit, pieces, holes, noise
    #[command(
        long_about = "Says what is in scan files, and whether they can be trusted: size, unit, loose pieces, \
            holes, noise, and what cleaning would take out. For each scan it writes a page to the current folder on \
            which points can be taken with a click, as lines for the job.",
        after_help = "Example:\n  gapwright inspect body.ply tray.ply\n\n\
            Next: hold the size against the vehicle with a tape; body.points.html measures between any two places. If \
            it is right, gapwright new body.ply tray.ply"
    )]
    Inspect {
        /// Scan files: STL, PLY, OBJ or GLB.
        #[arg(required = true, value_name = "SCAN")]
        scans: Vec<PathBuf>,
        /// Unit of the files, where they do not say.
        #[arg(long)]
        unit: Option<UnitArg>,
        /// Write no pages to take points on.
        #[arg(long)]
        no_page: bool,
    },
    /// Write a job file to start from
    #[command(
        long_about = "Writes a job file for two scans: it runs as it stands, and holds every option as a comment \
            with its default. An existing file is never overwritten.",
        after_help = "Example:\n  gapwright new scans/body.ply scans/tray.ply --out nose/job.toml\n\n\
            Next: read the job, set skin_mm and build_mm, then gapwright measure nose/job.toml"
    )]
    New {
        /// Scan of the body's lower edge.
        body: PathBuf,
        /// Scan of the undertray's top.
        tray: PathBuf,
        /// Where to write the job.
        #[arg(long, value_name = "JOB", default_value = "job.toml")]
        out: PathBuf,
    },
    /// Survey the gap: least, most, and how sure that is
    #[command(
        long_about = "Surveys the gap along the body's lower edge, with the uncertainty at every station, and writes \
            a page, a table and drawings. Makes no panel.",
        after_help = "Example:\n  gapwright measure nose/job.toml\n\n\
            Next: take the readings listed in readings.csv on the vehicle, write them in the column reading_mm, \
            then gapwright verify nose/job.toml nose/out/readings.csv"
    )]
    Measure {
        /// The job file.
        job: PathBuf,
        /// Folder for the results, in place of the one the job names.
        #[arg(long, value_name = "FOLDER")]
        out: Option<PathBuf>,
    },
    /// Hold tape and caliper readings to the survey: go, shim or rescan
    #[command(
        long_about = "Holds readings taken on the vehicle to the survey of a job. Lengths tell its scale, gaps its \
            height and tilt, as far as there are readings enough. The answer is go (they agree), shim (one scale, \
            constant or tilt explains them: correction.toml is written beside the readings) or rescan (nothing of \
            the kind explains them; the stretch is named). Readings of the fitted panel give a list of shims.",
        after_help = "Example:\n  gapwright verify nose/job.toml nose/out/readings.csv\n\n\
            Rows may be left blank, and rows of your own added; docs/formats.md lists the columns.\n\
            Exit codes: 0 go; 1 shim or rescan; 2 could not run.\n\n\
            Next: on shim, write correction = \"out/correction.toml\" under [gap] in the job and make; on rescan, \
            read what stands out once more before you scan again."
    )]
    Verify {
        /// The job file.
        job: PathBuf,
        /// Filled-in readings.csv, from the folder of the results.
        readings: PathBuf,
    },
    /// Make everything: panel, printable segments, build sheet
    #[command(
        long_about = "Surveys the gap, shapes a closeout panel for it, splits the panel into segments that fit the \
            printer, and writes it all with a build sheet. The folder is written whole or not at all.",
        after_help = "Example:\n  gapwright make nose/job.toml --out nose/out\n\n\
            Next: open sheet.html in that folder and read the warnings first; print/ holds the segments as they \
            lie on the printer's bed."
    )]
    Make {
        /// The job file.
        job: PathBuf,
        /// Folder for the results, in place of the one the job names.
        #[arg(long, value_name = "FOLDER")]
        out: Option<PathBuf>,
    },
    /// Print what makes a shell complete commands and options
    #[command(
        long_about = "Prints what a shell has to read so that it completes commands, options and file names.",
        after_help = "Example:\n  gapwright completions bash > ~/.local/share/bash-completion/completions/gapwright\n\n\
            Next: open a new shell, type gapwright and press the tab key."
    )]
    Completions {
        /// The shell.
        shell: clap_complete::Shell,
    },
    /// Print the manual page
    #[command(
        long_about = "Prints the manual page, for man: every command with its options.",
        after_help = "Example:\n  gapwright manual > gapwright.1\n\n\
            Next: man ./gapwright.1"
    )]
    Manual,
}

/// A unit on the command line.
#[derive(Debug, Clone, Copy, ValueEnum)]
pub(super) enum UnitArg {
    /// Millimetres.
    Mm,
    /// Centimetres.
    Cm,
    /// Metres.
    M,
    /// Inches.
    In,
}
