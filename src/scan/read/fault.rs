//! Why a scan file cannot be read, and what to do about it.

use crate::diag::Problem;
use std::io;
use std::path::Path;
use thiserror::Error;

/// Why a scan file cannot be read.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum ReadFault {
    /// There is no such file.
    #[error("there is no such file")]
    Missing,
    /// The path names a folder.
    #[error("this is a folder, not a scan file")]
    Folder,
    /// The system refuses.
    #[error("the file cannot be opened: {0}")]
    Unreadable(String),
    /// The file has no bytes.
    #[error("the file is empty")]
    Empty,
    /// The content is none of the formats read here.
    #[error("this is not an STL, PLY, OBJ or GLB file")]
    UnknownFormat,
    /// A text in two-byte characters.
    #[error("this is text in two-byte characters (UTF-16), which mesh formats do not use")]
    WideText,
    /// The file ends before what it promised.
    #[error("the file is cut short: it promises {promised}, but holds {held}")]
    Truncated {
        /// What the header or the structure promises.
        promised: String,
        /// What is there.
        held: String,
    },
    /// The header contradicts itself or the file.
    #[error("the file's header is wrong: {0}")]
    HeaderLies(String),
    /// A line or a part does not follow the format.
    #[error("the file is damaged at {place}: {what}")]
    Malformed {
        /// Line or part of the file.
        place: String,
        /// What is wrong there.
        what: String,
    },
    /// The format's own reading gave up in a way it should not.
    #[error("the file is damaged in a way that stops its reading")]
    Unforeseen,
    /// No triangles: a point cloud, or nothing at all.
    #[error("the file holds no triangles ({points} points)")]
    NoTriangles {
        /// Points in the file.
        points: usize,
    },
    /// No triangle has three finite corners.
    #[error("no triangle in the file has finite coordinates")]
    NotFinite,
    /// Too many triangles with corners that do not exist.
    #[error("{bad} of {of} triangles name points that are not in the file")]
    BadIndices {
        /// Triangles with such an index.
        bad: usize,
        /// Triangles in all.
        of: usize,
    },
    /// More points than 32-bit indices can number.
    #[error("the file holds more points than can be numbered (2^32)")]
    TooLarge,
    /// The file's name and its content disagree.
    #[error("the file's name says {told}, but it holds {holds}")]
    WrongName {
        /// Format by its extension.
        told: &'static str,
        /// Format by its content.
        holds: &'static str,
    },
    /// A glTF text whose data lies elsewhere.
    #[error("this is a glTF text, which keeps its mesh outside or in coded text")]
    GltfInPieces,
    /// A glTF feature that is not read.
    #[error("the mesh is stored with {0}, which is not read")]
    Unsupported(String),
}

impl ReadFault {
    /// What the maker should do next.
    #[must_use]
    pub fn hint(&self) -> &str {
        match self {
            Self::Missing => {
                "check the name and the folder; paths in a job start at the job file's folder"
            }
            Self::Folder => "name the scan file inside the folder",
            Self::Unreadable(_) => "check that you may read the file and that the disk is there",
            Self::Empty => "copy or export the scan again",
            Self::UnknownFormat => "export the scan as a mesh in STL, PLY, OBJ or GLB",
            Self::WideText => {
                "save the file as plain text (UTF-8), or export the scan again as PLY or binary STL"
            }
            Self::Truncated { .. } => {
                "copy the file again, or export the scan again if the copy is whole"
            }
            Self::HeaderLies(_) | Self::Malformed { .. } | Self::Unforeseen => {
                "export the scan again, best as binary PLY or binary STL"
            }
            Self::NoTriangles { points: 0 } => {
                "export the scan again and look that it is not empty"
            }
            Self::NoTriangles { .. } => {
                "this may be a point cloud: export the scan as a mesh (triangles) instead"
            }
            Self::NotFinite => "the scan is spoiled: export it again, or scan again",
            Self::BadIndices { .. } => {
                "export the scan again; the points and the triangles are not of one piece"
            }
            Self::TooLarge => "export the scan with fewer triangles; two million are plenty",
            Self::WrongName { .. } => {
                "make sure that it is the file you mean, and give it the ending of what it holds"
            }
            Self::GltfInPieces => "export the scan as a single .glb file",
            Self::Unsupported(_) => {
                "export the scan without compression, best as binary PLY or plain GLB"
            }
        }
    }

    /// The same as a problem about a file.
    #[must_use]
    pub fn about(&self, path: &Path) -> Problem {
        Problem::new(self.to_string(), self.hint()).at(path.display())
    }

    /// A fault from the file system.
    pub(super) fn from_io(error: io::Error) -> Self {
        match error.kind() {
            io::ErrorKind::NotFound => Self::Missing,
            io::ErrorKind::IsADirectory => Self::Folder,
            _ => Self::Unreadable(error.to_string()),
        }
    }

    /// A damaged line of a text file.
    pub(super) fn line(number: usize, what: impl Into<String>) -> Self {
        Self::Malformed {
            place: format!("line {number}"),
            what: what.into(),
        }
    }

    /// A file that is too short.
    pub(super) fn truncated(promised: impl Into<String>, held: impl Into<String>) -> Self {
        Self::Truncated {
            promised: promised.into(),
            held: held.into(),
        }
    }
}
