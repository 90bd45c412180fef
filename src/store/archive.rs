//! One compressed file with many texts in it, for backups and for passing bags on.
//!
//! Layout: gzip (RFC 1952) around a text. The text begins with the line `//// thirdpull 1`; then, for each part, a line
//! `//// <length in bytes> <name>`, the bytes, and a line end. Any gzip tool opens it, any editor reads it.

use std::io::{BufRead, BufReader, Read, Write};
use std::path::Path;

use super::disk::Disk;
use super::fault::{Doing, Problem, StoreFault};

const HEAD: &str = "//// thirdpull 1\n";

/// What an archive may at most be; protects against a stranger's file that unfolds without end.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Limits {
    /// Bytes of the file itself.
    pub(crate) packed: u64,
    /// Bytes after unpacking, all parts together.
    pub(crate) unpacked: u64,
    /// Parts.
    pub(crate) parts: usize,
}

/// Writes an archive.
pub(crate) struct Packer(flate2::write::GzEncoder<Vec<u8>>);

impl Packer {
    pub(crate) fn new() -> std::io::Result<Self> {
        let mut gzip = flate2::write::GzEncoder::new(Vec::new(), flate2::Compression::new(4));
        gzip.write_all(HEAD.as_bytes())?;
        Ok(Self(gzip))
    }

    /// Adds a part. Its name has no line ends.
    pub(crate) fn add(&mut self, name: &str, bytes: &[u8]) -> std::io::Result<()> {
        writeln!(self.0, "//// {} {}", bytes.len(), name.replace(['\n', '\r'], " "))?;
        self.0.write_all(bytes)?;
        self.0.write_all(b"\n")
    }

    pub(crate) fn finish(self) -> std::io::Result<Vec<u8>> {
        self.0.finish()
    }
}

/// Reads an archive part by part: name and bytes.
///
/// # Errors
/// [`StoreFault::Text`] when it is none, is cut short, or exceeds a limit.
pub(crate) fn unpack(
    disk: &dyn Disk,
    path: &Path,
    limits: Limits,
    part: impl FnMut(&str, Vec<u8>) -> Result<(), StoreFault>,
) -> Result<(), StoreFault> {
    let refuse = |what: &str| StoreFault::Text(Problem::of_file(path, what, word!("store-archive-again")));
    let packed = disk.read(path, limits.packed).map_err(|fault| match fault.kind() {
        std::io::ErrorKind::FileTooLarge => {
            refuse(&say!("store-archive-too-large", limit_mb = limits.packed >> 20))
        }
        _ => StoreFault::io(path, Doing::Read, &fault),
    })?;
    unpack_bytes(&packed, path, limits, part)
}

/// [`unpack`] of bytes in memory; `path` only names them.
pub(crate) fn unpack_bytes(
    packed: &[u8],
    path: &Path,
    limits: Limits,
    mut part: impl FnMut(&str, Vec<u8>) -> Result<(), StoreFault>,
) -> Result<(), StoreFault> {
    let refuse = |what: &str| StoreFault::Text(Problem::of_file(path, what, word!("store-archive-again")));
    let mut text = BufReader::new(flate2::read::MultiGzDecoder::new(packed));
    let mut left = limits.unpacked;
    let line = |text: &mut dyn BufRead| -> Result<String, StoreFault> {
        let mut bytes = Vec::new();
        text.take(2048)
            .read_until(b'\n', &mut bytes)
            .map_err(|_damaged| refuse(word!("store-archive-damaged-or-short")))?;
        String::from_utf8(bytes).map_err(|_damaged| refuse(word!("store-archive-damaged")))
    };
    if line(&mut text).map_err(|_damaged| refuse(word!("store-archive-not-ours")))? != HEAD {
        return Err(refuse(word!("store-archive-not-ours-or-newer")));
    }
    for _ in 0..=limits.parts {
        let head = line(&mut text)?;
        if head.is_empty() {
            return Ok(());
        }
        let (len, name) = head
            .strip_prefix("//// ")
            .and_then(|rest| rest.strip_suffix('\n'))
            .and_then(|rest| rest.split_once(' '))
            .ok_or_else(|| refuse(word!("store-archive-head-line")))?;
        let len: u64 = len.parse().map_err(|_damaged| refuse(word!("store-archive-length")))?;
        if len > left {
            return Err(refuse(&say!("store-archive-unfolds", limit_mb = limits.unpacked >> 20)));
        }
        left -= len;
        // Grows with what is really there, so that a length that lies costs nothing.
        let mut bytes = Vec::new();
        (&mut text)
            .take(len)
            .read_to_end(&mut bytes)
            .map_err(|_damaged| refuse(word!("store-archive-damaged-or-short")))?;
        let mut end = [0];
        let whole = bytes.len() as u64 == len && text.read_exact(&mut end).is_ok() && end == *b"\n";
        if !whole {
            return Err(refuse(word!("store-archive-cut-short")));
        }
        part(name, bytes)?;
    }
    Err(refuse(&say!("store-archive-parts", n = limits.parts)))
}
