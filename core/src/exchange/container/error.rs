//! What can go wrong before the music is read.

/// Why a file can't be taken apart.
#[derive(Clone, PartialEq, Eq, Debug, thiserror::Error)]
#[non_exhaustive]
pub enum ContainerError {
    /// A file of no bytes.
    #[error("this file is empty")]
    Empty,
    /// Neither kind of file.
    #[error("this is neither MusicXML nor MIDI: open a .musicxml, .xml, .mxl or .mid file")]
    Unknown,
    /// More bytes than are read.
    #[error("this file is longer than {allowed} MB, which is the most that is read")]
    Long {
        /// The most that is read, in MB (1,048,576 bytes).
        allowed: usize,
    },
    /// More bytes than are decompressed.
    #[error("\"{name}\" in this compressed file is longer than {allowed} KB, which is the most that is read")]
    LongInside {
        /// The file inside.
        name: String,
        /// The most that is read, in KB (1,024 bytes).
        allowed: usize,
    },
    /// Not the encoding that it says it has.
    #[error("byte {at} of this file is not {encoding}, as the file's beginning says; save it again in UTF-8")]
    Encoding {
        /// Where, from 1.
        at: usize,
        /// What it should be.
        encoding: &'static str,
    },
    /// An encoding that isn't read.
    #[error("this file is encoded in {0}; save it again in UTF-8 (UTF-16 and Latin-1 are read, too)")]
    UnknownEncoding(String),
    /// An archive that doesn't hold together.
    #[error("this compressed file is damaged: {0}")]
    Damaged(&'static str),
    /// No `META-INF/container.xml`.
    #[error(
        "this is a zip file, but not compressed MusicXML: it has no META-INF/container.xml, which says what to read; open the score inside it"
    )]
    NoContainer,
    /// A container without a MusicXML file in it.
    #[error("META-INF/container.xml in this file names no MusicXML file")]
    NoRoot,
    /// A container that names a file that isn't there.
    #[error("META-INF/container.xml in this file names \"{0}\", which is not in it")]
    MissingRoot(String),
    /// A container that names something outside.
    #[error("META-INF/container.xml in this file names \"{0}\", which is not a path inside it")]
    Outside(String),
    /// A root file that is something else.
    #[error("the score in this compressed file is not MusicXML")]
    RootNotXml,
    /// An encrypted file.
    #[error("\"{0}\" in this compressed file is encrypted; save it without a password")]
    Encrypted(String),
    /// A compression method that isn't read.
    #[error(
        "\"{name}\" in this file is compressed by method {method}; only deflate (8) and none (0) are read"
    )]
    Method {
        /// The file inside.
        name: String,
        /// The method's number in the ZIP standard (APPNOTE.TXT, 4.4.5).
        method: u16,
    },
    /// An archive that couldn't be written.
    #[error("the file can't be compressed: {0}")]
    Unwritten(String),
}
