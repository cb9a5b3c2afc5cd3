//! What a long job has finished so far, kept in the folder of its results until they are written.
//!
//! A line for each thing that is finished, with a check at its end, appended as it comes. A killed program leaves at
//! most one cut line, the last; a power cut perhaps more. What follows the first bad line is thrown away, and done
//! again.

use std::io::{Read, Seek, SeekFrom, Write};
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

use super::error::{WriteError, at};
use super::lock::Lock;
use super::{asked, make_folder, may_write, sync_folder};
use crate::files::hash::sha256;

/// The journal's file, in the folder of the results.
pub(crate) const JOURNAL: &str = ".easeoff-journal";
/// So much work at most is lost when the power fails.
const SYNC_EVERY: Duration = Duration::from_secs(2);

/// The one command that keeps a journal.
const KEEPER: &str = "sweep";

/// Whether a folder holds unfinished work of another command than this one; outside the program there is none.
pub(super) fn is_of_another(folder: &Path, command: &str) -> bool {
    !command.is_empty() && command != KEEPER && folder.join(JOURNAL).exists()
}

/// A journal that is open; nobody else can open it meanwhile.
pub struct Journal {
    lock: Lock,
    path: PathBuf,
    synced: Instant,
}

impl Journal {
    /// Opens the journal of a folder, and gives what it holds if `resume` is set. `plan` is all that the
    /// results depend on, in one line; only a journal of the same plan is gone on with. Without a journal the job
    /// begins at its beginning.
    ///
    /// # Errors
    /// When the folder is somebody else's, when it holds an unfinished job that is not asked for, when another run is
    /// at it, or when the disk refuses.
    pub fn open(
        folder: &Path,
        plan: &str,
        resume: bool,
    ) -> Result<(Self, Vec<String>), WriteError> {
        // Not only when hours of work are to be written.
        may_write(folder)?;
        make_folder(folder)?;
        let path = folder.join(JOURNAL);
        let mut lock = Lock::take(path.clone(), folder)?;
        lock.keep(true);
        sync_folder(folder)?;
        let mut text = Vec::new();
        lock.file().read_to_end(&mut text).map_err(at(&path))?;
        let (mut lines, mut good) = (good_lines(&text), 0);
        let begun = lines.first().is_some_and(|line| line == plan);
        let force = asked().force;
        let refusal = match (resume, lines.len() > 1, begun) {
            (true, true, false) if !force => Some(
                "the unfinished work in it is of another plan: other files, values, scores, shard or version; \
                 repeat the command it was begun with, or begin anew with --force",
            ),
            (false, true, _) if !force => Some(
                "it holds unfinished work; go on with it with --resume, or begin anew with --force",
            ),
            _ => None,
        };
        if let Some(what) = refusal {
            return Err(WriteError::new(folder, what));
        }
        if resume && begun {
            good = lines.iter().map(|line| checked(line).len() as u64).sum();
            lines.remove(0);
        } else {
            lines.clear();
        }
        let mut journal = Self { lock, path, synced: Instant::now() };
        journal.cut(good)?;
        if good == 0 {
            journal.add(plan)?;
        }
        Ok((journal, lines))
    }

    /// Adds what is finished, in one line.
    ///
    /// # Errors
    /// When the disk refuses. What was added before stays good.
    pub fn add(&mut self, line: &str) -> Result<(), WriteError> {
        let failed = |journal: &Self, error| {
            at(&journal.path)(error).but("what was finished before is kept; go on with --resume")
        };
        let written = self.lock.file().write_all(checked(line).as_bytes());
        written.map_err(|error| failed(self, error))?;
        if self.synced.elapsed() > SYNC_EVERY {
            self.lock.file().sync_data().map_err(|error| failed(self, error))?;
            self.synced = Instant::now();
        }
        Ok(())
    }

    /// Removes it: the results are written, or nobody wants to go on.
    pub fn remove(mut self) {
        self.lock.keep(false);
    }

    fn cut(&mut self, length: u64) -> Result<(), WriteError> {
        let mut file = self.lock.file();
        file.set_len(length).map_err(at(&self.path))?;
        file.seek(SeekFrom::Start(length)).map(drop).map_err(at(&self.path))
    }
}

/// A line as it stands in the file.
fn checked(line: &str) -> String {
    format!("{line} {}\n", &sha256(line)[..CHECK])
}

const CHECK: usize = 8;

/// The lines up to the first that is not as it was written.
fn good_lines(text: &[u8]) -> Vec<String> {
    let whole = text.split_inclusive(|byte| *byte == b'\n');
    let line = |bytes: &[u8]| {
        let text = std::str::from_utf8(bytes).ok()?.strip_suffix('\n')?;
        let (line, check) = text.rsplit_once(' ')?;
        (check == &sha256(line)[..CHECK]).then(|| line.to_owned())
    };
    whole.map_while(line).collect()
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, reason = "tests panic")]

    use std::fs;

    use super::*;

    fn folder(name: &str) -> PathBuf {
        let folder = std::env::temp_dir().join(format!("easeoff-{name}-{}", std::process::id()));
        let _ = fs::remove_dir_all(&folder);
        folder
    }

    /// At every byte: what comes back is a beginning of what was written, whole lines, and it can be gone on with.
    #[test]
    fn cut_or_damaged_anywhere_it_gives_a_beginning_and_goes_on() {
        let folder = folder("journal");
        let lines = ["0 3ff0", "2 7ff0 1", "1 !\"a \\n b\""];
        let (mut journal, found) = Journal::open(&folder, "plan a", false).unwrap();
        assert!(found.is_empty());
        lines.iter().for_each(|line| journal.add(line).unwrap());
        drop(journal);
        let path = folder.join(JOURNAL);
        let whole = fs::read(&path).unwrap();
        for place in 0..=whole.len() {
            let damaged = (place < whole.len()).then(|| {
                let mut damaged = whole.clone();
                damaged[place] ^= 1;
                damaged
            });
            for text in [Some(whole[..place].to_vec()), damaged].into_iter().flatten() {
                fs::write(&path, &text).unwrap();
                let Ok((mut journal, found)) = Journal::open(&folder, "plan a", true) else {
                    panic!("refused at {place}")
                };
                assert_eq!(found, lines[..found.len()], "{place}");
                journal.add("9 end").unwrap();
                drop(journal);
                let (_, again) = Journal::open(&folder, "plan a", true).unwrap();
                assert_eq!(again, [&lines[..found.len()], &["9 end"]].concat(), "{place}");
            }
        }
        fs::remove_dir_all(&folder).unwrap();
    }

    #[test]
    fn only_the_same_plan_goes_on_and_nothing_is_lost_unasked() {
        let folder = folder("plans");
        let (mut journal, _) = Journal::open(&folder, "plan a", false).unwrap();
        let said = Journal::open(&folder, "plan a", true).err().unwrap().to_string();
        assert!(said.contains("another run is writing there"), "{said}");
        journal.add("0 1").unwrap();
        drop(journal);
        let said = Journal::open(&folder, "plan b", true).err().unwrap().to_string();
        assert!(said.contains("another plan") && said.contains("--force"), "{said}");
        let said = Journal::open(&folder, "plan a", false).err().unwrap().to_string();
        assert!(said.contains("--resume"), "{said}");
        let (journal, found) = Journal::open(&folder, "plan a", true).unwrap();
        assert_eq!(found, ["0 1"]);
        journal.remove();
        assert!(!folder.join(JOURNAL).exists());
        fs::remove_dir_all(&folder).unwrap();
    }
}
