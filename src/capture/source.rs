//! Where live lines come from, and the thread that reads them.

use std::fs::File;
use std::io::{self, Read, Seek, SeekFrom};
use std::net::{TcpStream, ToSocketAddrs};
use std::path::PathBuf;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::mpsc::{self, Receiver, Sender};
use std::thread::JoinHandle;
use std::time::Duration;

use super::lines::{LineSplitter, RawLine};
use super::samples::{LineReader, Mapping, Reading, Sample};

/// Where lines come from.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Source {
    /// A TCP port, `host:port`.
    Tcp(String),
    /// A file that grows; read from its present end when `from_end`.
    File {
        /// Its path.
        path: PathBuf,
        /// Skip the readings that are already there; what names the columns still counts.
        from_end: bool,
    },
    /// Standard input; ends when it ends.
    Stdin,
    /// A serial port.
    Serial {
        /// Its path or name.
        path: PathBuf,
        /// Bits a second.
        baud: u32,
    },
}

/// What the reading thread reports.
#[derive(Debug, Clone, PartialEq)]
pub enum Event {
    /// Connected; lines may come.
    Connected,
    /// Not connected, and why; it tries again by itself.
    Waiting(String),
    /// What the columns mean.
    Header(Mapping),
    /// A reading.
    Sample(Sample),
    /// A line that could not be read, and why.
    Unreadable(String),
    /// The input has ended for good, or reading was stopped.
    Ended,
}

/// A running capture. Dropping it stops the thread.
#[derive(Debug)]
pub struct Live {
    events: Receiver<Event>,
    stop: Arc<AtomicBool>,
    thread: Option<JoinHandle<()>>,
}

impl Live {
    /// Everything that has come since last time, without waiting. No line is ever dropped: what is not taken stays.
    pub fn drain(&self) -> impl Iterator<Item = Event> + '_ {
        self.events.try_iter()
    }

    /// Waits for the next report, at most so long.
    #[must_use]
    pub fn next_within(&self, wait: Duration) -> Option<Event> {
        self.events.recv_timeout(wait).ok()
    }

    /// Asks the thread to end; it does within about a fifth of a second (standard input: at its next line).
    pub fn stop(&self) {
        self.stop.store(true, Ordering::Relaxed);
    }
}

impl Drop for Live {
    fn drop(&mut self) {
        self.stop();
        // The thread is not waited for: a blocked standard input would hold the window.
        self.thread.take();
    }
}

const PAUSE: Duration = Duration::from_millis(200);
const LONGEST_PAUSE: Duration = Duration::from_secs(2);

/// What one read of a source can end in.
enum Got {
    Bytes(usize),
    Nothing,
    Lost(String),
    End,
}

enum Port {
    Tcp(TcpStream),
    File {
        file: File,
        path: PathBuf,
        at: u64,
        /// Lines that were there before, of which only what names the columns counts.
        before: Vec<RawLine>,
    },
    Stdin(io::Stdin),
    Serial(serial2::SerialPort),
}

impl Source {
    fn open(&self, again: bool) -> io::Result<Port> {
        Ok(match self {
            Self::Tcp(address) => {
                let mut last = io::Error::new(io::ErrorKind::NotFound, word!("capture-source-no-host"));
                for one in address.to_socket_addrs()? {
                    match TcpStream::connect_timeout(&one, LONGEST_PAUSE) {
                        Ok(stream) => {
                            stream.set_read_timeout(Some(PAUSE))?;
                            return Ok(Port::Tcp(stream));
                        }
                        Err(why) => last = why,
                    }
                }
                return Err(last);
            }
            Self::File { path, from_end } => {
                let mut file = File::open(path)?;
                if !file.metadata()?.is_file() {
                    return Err(io::Error::new(io::ErrorKind::InvalidInput, word!("capture-source-no-file")));
                }
                let (at, before) =
                    if *from_end && !again { lines_before(&mut file)? } else { (0, Vec::new()) };
                Port::File { file, path: path.clone(), at, before }
            }
            Self::Stdin => Port::Stdin(io::stdin()),
            Self::Serial { path, baud } => {
                let mut port = serial2::SerialPort::open(path, *baud)?;
                port.set_read_timeout(PAUSE)?;
                Port::Serial(port)
            }
        })
    }
}

/// How much is looked at of the head of a file that is followed from its end, and of its last part, bytes.
const LOOKED_AT: u64 = 64 << 10;

/// The lines at the head of a file and those near its end, and the place behind the last whole line, from which the file
/// is read on.
fn lines_before(file: &mut File) -> io::Result<(u64, Vec<RawLine>)> {
    let end = file.seek(SeekFrom::End(0))?;
    let tail_from = end.saturating_sub(LOOKED_AT);
    let mut lines = Vec::new();
    let mut part = |from: u64, to: u64| -> io::Result<Vec<u8>> {
        let mut bytes = Vec::new();
        file.seek(SeekFrom::Start(from))?;
        file.by_ref().take(to - from).read_to_end(&mut bytes)?;
        Ok(bytes)
    };
    let head = part(0, tail_from.min(LOOKED_AT))?;
    LineSplitter::default().push(&head, |line| lines.push(line));
    let tail = part(tail_from, end)?;
    // Only whole lines: not what a cut began, nor what is still being written.
    let first = if tail_from == 0 { Some(0) } else { tail.iter().position(|b| *b == b'\n').map(|at| at + 1) };
    let whole = tail.iter().rposition(|b| *b == b'\n').map_or(0, |at| at + 1);
    if let Some(rows) = first.and_then(|first| tail.get(first..whole)) {
        LineSplitter::default().push(rows, |line| lines.push(line));
    }
    let at = if whole > 0 || tail_from == 0 { tail_from + whole as u64 } else { end };
    file.seek(SeekFrom::Start(at))?;
    Ok((at, lines))
}

/// Whether what is found under a name is still the file that was opened there.
#[cfg(unix)]
fn is_same(file: &File, found: &std::fs::Metadata) -> bool {
    use std::os::unix::fs::MetadataExt;
    file.metadata().is_ok_and(|open| (open.dev(), open.ino()) == (found.dev(), found.ino()))
}

/// Whether what is found under a name is still the file that was opened there: as far as can be told, made at the same
/// moment.
#[cfg(not(unix))]
fn is_same(file: &File, found: &std::fs::Metadata) -> bool {
    match (file.metadata().and_then(|open| open.created()), found.created()) {
        (Ok(open), Ok(found)) => open == found,
        _ => true,
    }
}

impl Port {
    fn read(&mut self, buffer: &mut [u8]) -> Got {
        let outcome = match self {
            Self::Tcp(stream) => stream.read(buffer),
            Self::Stdin(input) => input.lock().read(buffer),
            Self::Serial(port) => port.read(buffer),
            Self::File { file, path, at, .. } => match file.read(buffer) {
                Ok(0) => {
                    // Shorter than what was read, or another file under the name: begin it again.
                    return match std::fs::metadata(&*path) {
                        Ok(about) if about.len() >= *at && is_same(file, &about) => Got::Nothing,
                        Ok(_) => Got::Lost(word!("capture-source-begun-again").to_owned()),
                        Err(why) => Got::Lost(why.to_string()),
                    };
                }
                other => other.inspect(|n| *at += *n as u64),
            },
        };
        match outcome {
            Ok(0) if matches!(self, Self::Stdin(_)) => Got::End,
            Ok(0) => Got::Lost(word!("capture-source-closed").to_owned()),
            Ok(n) => Got::Bytes(n),
            Err(why) => match why.kind() {
                io::ErrorKind::WouldBlock | io::ErrorKind::TimedOut | io::ErrorKind::Interrupted => {
                    Got::Nothing
                }
                _ => Got::Lost(why.to_string()),
            },
        }
    }
}

/// Starts reading on a thread of its own. `clock` gives seconds on any steady clock, for instruments without one;
/// `mapping` fixes the columns when the user has chosen them. The thread reconnects by itself, waiting 0.2 to 2 s
/// between attempts, until it is stopped or standard input ends.
///
/// # Errors
/// When the system gives no thread.
pub fn start(
    source: Source,
    mapping: Option<Mapping>,
    clock: impl Fn() -> f64 + Send + 'static,
) -> io::Result<Live> {
    let (sender, events) = mpsc::channel();
    let stop = Arc::new(AtomicBool::new(false));
    let told = Arc::clone(&stop);
    let reader = mapping.map_or_else(LineReader::new, LineReader::with_mapping);
    let thread = std::thread::Builder::new().name("capture".to_owned()).spawn(move || {
        // A receiver that has gone away ends the thread like a stop.
        let _gone = run(&source, reader, &sender, &told, &clock);
        let _gone = sender.send(Event::Ended);
    })?;
    Ok(Live { events, stop, thread: Some(thread) })
}

type Sent = Result<(), mpsc::SendError<Event>>;

fn run(
    source: &Source,
    mut reader: LineReader,
    to: &Sender<Event>,
    stop: &AtomicBool,
    clock: &dyn Fn() -> f64,
) -> Sent {
    let mut pause = PAUSE;
    let mut again = false;
    let mut buffer = vec![0u8; 16 << 10];
    while !stop.load(Ordering::Relaxed) {
        let mut port = match source.open(again) {
            Ok(port) => port,
            Err(why) => {
                to.send(Event::Waiting(why.to_string()))?;
                std::thread::sleep(pause);
                pause = (pause * 2).min(LONGEST_PAUSE);
                continue;
            }
        };
        pause = PAUSE;
        again = true;
        to.send(Event::Connected)?;
        if let Port::File { before, .. } = &mut port {
            learn(std::mem::take(before), &mut reader, to, clock)?;
        }
        reader.reconnected();
        let mut splitter = LineSplitter::default();
        while !stop.load(Ordering::Relaxed) {
            let mut sent: Sent = Ok(());
            let mut each = |line: RawLine| {
                if sent.is_ok() {
                    sent = hand_on(line, &mut reader, to, clock);
                }
            };
            match port.read(&mut buffer) {
                Got::Bytes(n) => splitter.push(buffer.get(..n).unwrap_or_default(), &mut each),
                Got::Nothing => {
                    if matches!(port, Port::File { .. }) {
                        std::thread::sleep(Duration::from_millis(20));
                    }
                }
                Got::End => {
                    splitter.finish(&mut each);
                    return sent;
                }
                Got::Lost(why) => {
                    sent?;
                    to.send(Event::Waiting(why))?;
                    break;
                }
            }
            sent?;
        }
        std::thread::sleep(PAUSE);
    }
    Ok(())
}

/// Takes from lines that were there before what names the columns; their readings are over.
fn learn(lines: Vec<RawLine>, reader: &mut LineReader, to: &Sender<Event>, clock: &dyn Fn() -> f64) -> Sent {
    let mut header = None;
    for line in lines {
        if let RawLine::Text(text) = line
            && let Reading::Header(mapping) = reader.read(&text, clock())
        {
            header = Some(mapping);
        }
    }
    header.map_or(Ok(()), |mapping| to.send(Event::Header(mapping)))
}

fn hand_on(line: RawLine, reader: &mut LineReader, to: &Sender<Event>, clock: &dyn Fn() -> f64) -> Sent {
    match line {
        RawLine::TooLong => to.send(Event::Unreadable(word!("capture-source-too-long").to_owned())),
        RawLine::Text(text) => match reader.read(&text, clock()) {
            Reading::Sample(sample) => to.send(Event::Sample(sample)),
            Reading::Header(mapping) => to.send(Event::Header(mapping)),
            Reading::Unreadable(why) => to.send(Event::Unreadable(why)),
            Reading::Comment => Ok(()),
        },
    }
}
