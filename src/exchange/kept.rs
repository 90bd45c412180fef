//! A small file of settings: read once, written whole, never written over where it could not be read.

use std::io::Write as _;
use std::path::{Path, PathBuf};

use serde::Serialize;
use serde::de::DeserializeOwned;

/// Largest file that is read, bytes.
const LARGEST: u64 = 4 << 20;

/// Settings and the file that keeps them.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Kept<T> {
    /// `None`: in memory only.
    path: Option<PathBuf>,
    /// The file could not be read; it is not written over.
    broken: bool,
    /// The settings.
    pub value: T,
}

impl<T: Default + Serialize + DeserializeOwned> Kept<T> {
    /// Opens the file; a missing one is empty, one that cannot be read is left as it is and not used.
    #[must_use]
    pub fn open(path: PathBuf) -> Self {
        let (value, broken) = match read(&path) {
            Ok(value) => (value, false),
            Err(()) => (T::default(), true),
        };
        Self { path: Some(path), broken, value }
    }

    /// Writes the file.
    ///
    /// # Errors
    /// One sentence when the file cannot be written, or could not be read; the settings stay in memory.
    pub fn write(&self) -> Result<(), String> {
        let Some(path) = &self.path else { return Ok(()) };
        let told = |why: String| say!("exchange-kept-fault", path = path.display(), why = why);
        if self.broken {
            return Err(told(word!("exchange-kept-broken").to_owned()));
        }
        let pretty = ron::ser::PrettyConfig::new().new_line("\n");
        let text = ron::ser::to_string_pretty(&self.value, pretty).map_err(|why| told(why.to_string()))?;
        replace(path, &text).map_err(|why| told(why.to_string()))
    }
}

/// What a file holds; the default where there is no file.
fn read<T: Default + DeserializeOwned>(path: &Path) -> Result<T, ()> {
    match std::fs::metadata(path) {
        Ok(meta) if meta.len() <= LARGEST => {
            let text = std::fs::read_to_string(path).map_err(|_unreadable| ())?;
            ron::from_str(&text).map_err(|_unreadable| ())
        }
        Err(why) if why.kind() == std::io::ErrorKind::NotFound => Ok(T::default()),
        _ => Err(()),
    }
}

fn replace(path: &Path, text: &str) -> std::io::Result<()> {
    let folder = path.parent().unwrap_or(Path::new("."));
    std::fs::create_dir_all(folder)?;
    let mut file = tempfile::NamedTempFile::new_in(folder)?;
    file.write_all(text.as_bytes())?;
    file.as_file().sync_all()?;
    file.persist(path).map_err(|why| why.error)?;
    Ok(())
}
