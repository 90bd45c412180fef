//! From bytes to clean text: size limits, encodings, line ends, noise.

use std::borrow::Cow;
use std::fs;
use std::io::Read;
use std::path::Path;

use super::{ImportFault, MAX_LINE_BYTES, MAX_TEXT_BYTES};

/// Why a file cannot be read, and what to do, in plain words.
fn plain(why: &std::io::Error) -> String {
    use std::io::ErrorKind as K;
    match why.kind() {
        K::NotFound => word!("exchange-table-text-not-found").into(),
        K::PermissionDenied => word!("exchange-table-text-no-permission").into(),
        K::NotADirectory => word!("exchange-table-text-not-a-folder").into(),
        K::InvalidFilename => word!("exchange-table-text-name-not-allowed").into(),
        _ => {
            // The system's own words, without its number.
            let text = why.to_string();
            text.split(" (os error").next().unwrap_or_default().to_lowercase()
        }
    }
}

/// Reads a file's bytes within the limit.
pub(crate) fn load(path: &Path) -> Result<Vec<u8>, ImportFault> {
    let name =
        path.file_name().map_or_else(|| path.display().to_string(), |n| n.to_string_lossy().into_owned());
    let cannot = |why: std::io::Error| {
        ImportFault::new(say!("exchange-table-text-cannot-be-read", name = name, why = plain(&why)))
    };
    let about = fs::metadata(path).map_err(cannot)?;
    if about.is_dir() {
        return Err(ImportFault::new(say!("exchange-table-text-folder", name = name)));
    }
    if !about.is_file() {
        return Err(ImportFault::new(say!("exchange-table-text-no-ordinary-file", name = name)));
    }
    let too_big = |bytes: u64| {
        ImportFault::new(say!(
            "exchange-table-text-file-too-big",
            name = name,
            mb = bytes >> 20,
            most_mb = MAX_TEXT_BYTES >> 20
        ))
    };
    let limit = MAX_TEXT_BYTES as u64;
    if about.len() > limit {
        return Err(too_big(about.len()));
    }
    let mut bytes = Vec::new();
    fs::File::open(path).map_err(cannot)?.take(limit + 1).read_to_end(&mut bytes).map_err(cannot)?;
    if bytes.len() > MAX_TEXT_BYTES {
        return Err(too_big(bytes.len() as u64));
    }
    Ok(bytes)
}

/// Takes off encoding marks, turns UTF-16 and lone carriage returns into plain lines, and refuses noise.
pub(crate) fn clean(bytes: &[u8]) -> Result<Cow<'_, [u8]>, ImportFault> {
    if bytes.len() > MAX_TEXT_BYTES {
        return Err(ImportFault::new(say!(
            "exchange-table-text-too-big",
            mb = bytes.len() >> 20,
            most_mb = MAX_TEXT_BYTES >> 20
        )));
    }
    let text: Cow<'_, [u8]> = match bytes {
        [0xef, 0xbb, 0xbf, rest @ ..] => Cow::Borrowed(rest),
        [0xff, 0xfe, rest @ ..] => Cow::Owned(from_utf16(rest, u16::from_le_bytes)?),
        [0xfe, 0xff, rest @ ..] => Cow::Owned(from_utf16(rest, u16::from_be_bytes)?),
        other => Cow::Borrowed(other),
    };
    if text.iter().all(u8::is_ascii_whitespace) {
        return Err(ImportFault::new(word!("exchange-table-text-empty")));
    }
    let text = if text.contains(&b'\r') && !text.contains(&b'\n') {
        Cow::Owned(text.iter().map(|&b| if b == b'\r' { b'\n' } else { b }).collect())
    } else {
        text
    };
    check_lines(&text)?;
    Ok(text)
}

fn from_utf16(bytes: &[u8], join: fn([u8; 2]) -> u16) -> Result<Vec<u8>, ImportFault> {
    let (pairs, _) = bytes.as_chunks::<2>();
    let mut text = String::with_capacity(bytes.len() / 2);
    for unit in char::decode_utf16(pairs.iter().map(|&pair| join(pair))) {
        text.push(unit.unwrap_or(char::REPLACEMENT_CHARACTER));
    }
    if text.len() > MAX_TEXT_BYTES {
        return Err(ImportFault::new(word!("exchange-table-text-too-long")));
    }
    Ok(text.into_bytes())
}

/// Refuses NUL bytes, other control bytes in number, and lines beyond the limit.
fn check_lines(text: &[u8]) -> Result<(), ImportFault> {
    let mut controls = 0usize;
    for (at, line) in text.split(|&b| b == b'\n').enumerate() {
        let number = at as u64 + 1;
        if line.len() > MAX_LINE_BYTES {
            return Err(ImportFault::at(
                number,
                say!("exchange-table-text-line-too-long", bytes = line.len(), most = MAX_LINE_BYTES),
            ));
        }
        // One pass that the compiler turns into vector code: any byte below 32 other than tab and carriage return.
        let odd = line.iter().fold(0usize, |n, &b| n + usize::from(b < 32 && b != b'\t' && b != b'\r'));
        if odd > 0 {
            if let Some(column) = line.iter().position(|&b| b == 0) {
                return Err(ImportFault::at(
                    number,
                    say!("exchange-table-text-zero-byte", place = column + 1),
                ));
            }
            controls += odd;
            if controls > 32 {
                return Err(ImportFault::at(number, word!("exchange-table-text-control-bytes")));
            }
        }
    }
    Ok(())
}

/// A cell as text: UTF-8 if it is, else byte for byte as Latin-1.
pub(crate) fn decode_cell(cell: &[u8]) -> Cow<'_, str> {
    match std::str::from_utf8(cell) {
        Ok(text) => Cow::Borrowed(text),
        Err(_not_utf8) => Cow::Owned(cell.iter().map(|&b| char::from(b)).collect()),
    }
}

/// At most 24 characters of a cell, for a message.
pub(crate) fn excerpt(cell: &[u8]) -> String {
    let head = cell.get(..cell.len().min(96)).unwrap_or(cell);
    let text = decode_cell(head);
    let mut out: String = text.trim().chars().filter(|c| !c.is_control()).take(24).collect();
    if text.chars().count() > 24 {
        out.push('…');
    }
    out
}

/// Whether a line says nothing to a reader of numbers.
pub(crate) fn is_comment(line: &[u8]) -> bool {
    matches!(line, [b'#' | b'%' | b'!', ..] | [b'/', b'/', ..])
}
