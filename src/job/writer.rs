//! The journal's writer: a thread of its own, so that neither hand nor light
//! ever waits for the disk, but for the few steps that must be on disk before
//! they are shown.

use super::journal::LARGEST;
use super::line::{Line, encode};
use super::tail::{Store, Tail};
use crate::fault::{Fault, Outcome, counted};
use serde::Serialize;
use serde::de::DeserializeOwned;
use std::collections::VecDeque;
use std::fmt;
use std::io;
use std::marker::PhantomData;
use std::path::{Path, PathBuf};
use std::sync::mpsc::{Receiver, RecvTimeoutError, Sender, channel};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use std::thread::JoinHandle;
use std::time::{Duration, Instant};

/// How long a line stays unconfirmed by the disk, at most: what a power cut
/// may cost. A killed program costs nothing that was handed over.
const CONFIRM: Duration = Duration::from_secs(1);

/// How long after a failure the disk is tried again.
const RETRY: Duration = Duration::from_secs(2);

/// Where a writer goes on.
#[derive(Debug, Clone)]
pub struct Head {
    pub path: PathBuf,
    /// The number of the next line.
    pub next: u64,
    /// The journal's length with all that was appended, bytes.
    pub length: u64,
}

/// Adds to a journal. Dropped, it first writes what waits.
pub struct Writer<T> {
    head: Head,
    /// `None` once it is closed.
    queue: Option<Sender<Message>>,
    thread: Option<JoinHandle<Outcome<()>>>,
    state: Arc<Mutex<State>>,
    /// Lines handed to the thread.
    sent: u64,
    payload: PhantomData<fn(&T)>,
}

enum Message {
    Line(Vec<u8>),
    Sync(Sender<Outcome<()>>),
    LookWith(Look),
}

/// Looks at the job's other files: what is wrong with them, if something is.
type Look = Box<dyn FnMut() -> Option<Fault> + Send>;

/// What the thread tells.
#[derive(Default)]
struct State {
    /// Lines that the disk has confirmed.
    confirmed: u64,
    trouble: Option<Fault>,
    /// What another program has made of the job's files.
    foreign: Option<Fault>,
    news: VecDeque<String>,
    wake: Option<Box<dyn Fn() + Send>>,
}

impl<T: Serialize + DeserializeOwned> Writer<T> {
    /// Starts the thread that writes to `tail`.
    ///
    /// # Errors
    /// If the system has no thread left.
    pub(super) fn start<S: Store>(tail: Tail<S>, head: Head) -> Outcome<Self> {
        let (queue, inbox) = channel();
        let state = Arc::new(Mutex::new(State::default()));
        let desk = Desk {
            tail,
            path: head.path.clone(),
            state: Arc::clone(&state),
            received: 0,
            look: None,
        };
        let thread = std::thread::Builder::new()
            .name("journal".to_owned())
            .spawn(move || desk.run(&inbox))
            .map_err(|e| Fault::ours(format!("the journal can't be written ({e})"), "try again"))?;
        Ok(Self {
            head,
            queue: Some(queue),
            thread: Some(thread),
            state,
            sent: 0,
            payload: PhantomData,
        })
    }

    /// Adds a step and returns its number. It is written soon, and on disk for
    /// certain after [`Writer::sync`], or within a second.
    ///
    /// # Errors
    /// If the step can't be kept: too large, or with a number that is none; or
    /// if the journal is full. A disk that fails is told by [`Writer::news`].
    pub fn append(&mut self, step: &T) -> Outcome<u64> {
        self.add(&Line::Op(step))
    }

    /// Adds that the job file with this CRC-32C is the base of what follows.
    pub fn base(&mut self, job_crc: u32) -> Outcome<u64> {
        self.add(&Line::Base { job_crc })
    }

    /// Adds that the job file is about to be replaced by one with this CRC-32C.
    pub fn saving(&mut self, job_crc: u32) -> Outcome<u64> {
        self.add(&Line::Saving { job_crc })
    }

    fn add(&mut self, line: &Line<&T>) -> Outcome<u64> {
        let number = self.head.next;
        let bytes = encode(number, line)?;
        let length = self.head.length + bytes.len() as u64;
        if length > LARGEST {
            return Err(Fault::input(
                "the journal is full",
                "close the job, move the file journal to another folder, and open the job again: the lay is \
                 kept, undo begins anew",
            )
            .in_file(&self.head.path));
        }
        self.send(Message::Line(bytes))?;
        self.sent += 1;
        self.head.next += 1;
        self.head.length = length;
        Ok(number)
    }

    /// Returns once all that was appended is on disk.
    ///
    /// # Errors
    /// If the disk can't take it now. Nothing is lost: it stays in memory and
    /// is tried again, in order.
    pub fn sync(&mut self) -> Outcome<()> {
        let (answer, wait) = channel();
        self.send(Message::Sync(answer))?;
        wait.recv().map_err(|_| stopped())?
    }

    /// Returns once all that was appended is on disk, or after so long; and whether
    /// it is.
    ///
    /// # Errors
    /// As [`Writer::sync`].
    pub fn sync_within(&mut self, longest: Duration) -> Outcome<bool> {
        let (answer, wait) = channel();
        self.send(Message::Sync(answer))?;
        match wait.recv_timeout(longest) {
            Ok(done) => done.map(|()| true),
            Err(RecvTimeoutError::Timeout) => Ok(false),
            Err(RecvTimeoutError::Disconnected) => Err(stopped()),
        }
    }

    /// Whether the disk has confirmed all that was appended.
    pub fn is_on_disk(&self) -> bool {
        locked(&self.state).confirmed == self.sent
    }

    /// The next thing the person should be told, one sentence: the first
    /// failure, and when it is over.
    pub fn news(&self) -> Option<String> {
        locked(&self.state).news.pop_front()
    }

    /// What keeps the journal from being written, or what was done from being found again, if
    /// something does now.
    pub fn trouble(&self) -> Option<Fault> {
        let state = locked(&self.state);
        state.trouble.clone().or_else(|| state.foreign.clone())
    }

    /// Whenever the disk has confirmed something, `look` is called on the writer's thread; what it
    /// finds is told as the journal's own trouble is.
    pub(super) fn look_with(
        &self,
        look: impl FnMut() -> Option<Fault> + Send + 'static,
    ) -> Outcome<()> {
        self.send(Message::LookWith(Box::new(look)))
    }

    /// Calls `wake` from the writer's thread whenever there is news.
    pub fn wake_with(&self, wake: impl Fn() + Send + 'static) {
        locked(&self.state).wake = Some(Box::new(wake));
    }

    /// What it was to wake, for another writer.
    pub(super) fn take_wake(&self) -> Option<Box<dyn Fn() + Send>> {
        locked(&self.state).wake.take()
    }

    /// Writes what waits, and ends.
    ///
    /// # Errors
    /// If steps are left that the disk would not take: they are lost.
    pub fn close(mut self) -> Outcome<()> {
        self.finish()
    }

    fn send(&self, message: Message) -> Outcome<()> {
        let queue = self.queue.as_ref().ok_or_else(stopped)?;
        queue.send(message).map_err(|_| stopped())
    }
}

impl<T> Writer<T> {
    fn finish(&mut self) -> Outcome<()> {
        // Without a sender the thread comes to its end.
        self.queue = None;
        match self.thread.take() {
            Some(thread) => thread.join().unwrap_or_else(|_| Err(stopped())),
            None => Ok(()),
        }
    }
}

impl<T> Drop for Writer<T> {
    fn drop(&mut self) {
        // Who wants to know how it went calls `close`.
        drop(self.finish());
    }
}

impl<T> fmt::Debug for Writer<T> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("Writer")
            .field("head", &self.head)
            .finish_non_exhaustive()
    }
}

fn stopped() -> Fault {
    Fault::ours(
        "what is done can no longer be written to the journal",
        "close the job and open it again",
    )
}

fn locked(state: &Mutex<State>) -> MutexGuard<'_, State> {
    state.lock().unwrap_or_else(PoisonError::into_inner)
}

/// What runs on the thread.
struct Desk<S> {
    tail: Tail<S>,
    path: PathBuf,
    state: Arc<Mutex<State>>,
    received: u64,
    look: Option<Look>,
}

impl<S: Store> Desk<S> {
    fn run(mut self, inbox: &Receiver<Message>) -> Outcome<()> {
        // What was in the tail to begin with is written at once.
        let first = self.tail.write();
        self.tell(first.err().as_ref());
        let mut due = (self.tail.waiting() > 0).then(|| Instant::now() + CONFIRM);
        loop {
            let message = match due {
                None => inbox.recv().map_err(|_| RecvTimeoutError::Disconnected),
                Some(at) => inbox.recv_timeout(at.saturating_duration_since(Instant::now())),
            };
            let again = match message {
                Ok(Message::Line(line)) => {
                    self.tail.push(line);
                    self.received += 1;
                    // Once something has failed, only the disk's word counts.
                    let done = if locked(&self.state).trouble.is_some() {
                        self.sync()
                    } else {
                        self.tail.write()
                    };
                    self.tell(done.err().as_ref());
                    CONFIRM
                }
                Ok(Message::Sync(answer)) => {
                    let waited = self.tail.waiting() > 0;
                    let done = self.sync();
                    self.tell(done.as_ref().err());
                    // What was found may be put right meanwhile.
                    let found = locked(&self.state).foreign.is_some();
                    let look = done.is_ok() && (waited || found);
                    // Who asked may be gone, and that is no failure.
                    drop(answer.send(done.map_err(|e| fault(&self.path, &e))));
                    if look {
                        self.look_around();
                    }
                    due = None;
                    RETRY
                }
                Ok(Message::LookWith(look)) => {
                    self.look = Some(look);
                    CONFIRM
                }
                Err(RecvTimeoutError::Timeout) => {
                    let done = self.sync();
                    self.tell(done.as_ref().err());
                    if done.is_ok() {
                        self.look_around();
                    }
                    due = None;
                    RETRY
                }
                Err(RecvTimeoutError::Disconnected) => {
                    self.sync().map_err(|e| {
                        let left = self.tail.waiting();
                        let mut fault = Fault::file("writing the journal", &self.path, &e);
                        fault.what = format!(
                            "{}, and the last of it is lost ({})",
                            fault.what,
                            counted(left, "step", "steps")
                        );
                        fault
                    })?;
                    return self.ended();
                }
            };
            due = match self.tail.waiting() {
                0 => None,
                _ => due.or_else(|| Some(Instant::now() + again)),
            };
        }
    }

    fn sync(&mut self) -> io::Result<()> {
        self.tail.sync()?;
        locked(&self.state).confirmed = self.received;
        Ok(())
    }

    /// The last look, when all is on disk: what can't be found in the journal's place is kept beside
    /// it, for the file that is open is the only one there is.
    fn ended(mut self) -> Outcome<()> {
        let Err(mut why) = self.tail.stay_at(&self.path) else {
            return Ok(());
        };
        if let Ok(Some(copy)) = self.tail.keep_beside(&self.path) {
            why.what = format!(
                "{}; the journal of what was done is kept in {}",
                why.what,
                copy.display()
            );
            why.remedy = format!(
                "move {} to another folder, and give the kept one its name, before the job is opened \
                 again",
                self.path.display()
            );
        }
        Err(why)
    }

    /// Looks whether the job's files are still those that are known here, and takes down what has
    /// become of them. All that was received is on disk.
    fn look_around(&mut self) {
        let (anew, found) = match self.tail.stay_at(&self.path) {
            Ok(anew) => (anew, self.look.as_mut().and_then(|look| look())),
            Err(why) => (false, Some(why)),
        };
        let mut state = locked(&self.state);
        if anew {
            state.news.push_back(format!(
                "{}: the journal had been taken away while the job was open; it is written anew, \
                 and nothing was lost.",
                self.path.display()
            ));
        }
        let other = found != state.foreign;
        if other {
            let news = match (&found, &state.foreign) {
                (Some(why), _) => why.to_string(),
                (None, Some(was)) => {
                    format!("{}: that is put right again.", was.place.join(": "))
                }
                (None, None) => return,
            };
            state.news.push_back(news);
            state.foreign = found;
        }
        if let (true, Some(wake)) = (anew || other, &state.wake) {
            wake();
        }
    }

    /// Takes down how the last attempt went, and wakes whoever should know.
    fn tell(&mut self, error: Option<&io::Error>) {
        let mut state = locked(&self.state);
        match error {
            Some(e) if state.trouble.is_none() => {
                let fault = fault(&self.path, e);
                state.news.push_back(fault.to_string());
                state.trouble = Some(fault);
            }
            None if state.trouble.is_some() && self.tail.waiting() == 0 => {
                state.trouble = None;
                state.news.push_back(format!(
                    "{}: the journal is written again, and nothing was lost.",
                    self.path.display()
                ));
            }
            _ => return,
        }
        if let Some(wake) = &state.wake {
            wake();
        }
    }
}

fn fault(path: &Path, error: &io::Error) -> Fault {
    let mut fault = Fault::file("writing the journal", path, error);
    fault.remedy = format!(
        "{}; the work goes on, but until then it is only in memory",
        fault.remedy.trim_end_matches(", then try again")
    );
    fault
}

#[cfg(test)]
mod tests {
    use super::super::tail::tests::Shared;
    use super::*;
    use std::sync::atomic::{AtomicUsize, Ordering};

    fn writer(disk: &Shared) -> Writer<String> {
        let head = Head {
            path: "job/journal".into(),
            next: 1,
            length: 0,
        };
        Writer::start(Tail::new(disk.clone(), 0), head).unwrap()
    }

    fn lines(disk: &Shared) -> Vec<String> {
        let text = String::from_utf8(disk.0.lock().unwrap().safe.clone()).unwrap();
        text.lines().map(str::to_owned).collect()
    }

    /// Waits, up to ten seconds, until there is news.
    fn heard(writer: &Writer<String>) -> String {
        for _ in 0..1000 {
            if let Some(news) = writer.news() {
                return news;
            }
            std::thread::sleep(Duration::from_millis(10));
        }
        panic!("no news");
    }

    #[test]
    fn a_full_disk_is_told_once_and_loses_nothing() {
        let disk = Shared::default();
        disk.0.lock().unwrap().room = 60;
        let mut writer = writer(&disk);
        let woken = Arc::new(AtomicUsize::new(0));
        let count = Arc::clone(&woken);
        writer.wake_with(move || {
            count.fetch_add(1, Ordering::SeqCst);
        });
        for k in 1..=20 {
            assert_eq!(writer.append(&format!("step {k}")).unwrap(), k);
        }
        let said = heard(&writer);
        assert!(
            said.contains("disk is full") && said.contains("in memory"),
            "{said}"
        );
        assert!(writer.sync().is_err() && writer.trouble().is_some());
        assert_eq!(writer.news(), None);
        disk.0.lock().unwrap().room = 1 << 20;
        writer.append(&"step 21".to_owned()).unwrap();
        writer.sync().unwrap();
        assert!(writer.trouble().is_none());
        let said = heard(&writer);
        assert!(said.contains("nothing was lost"), "{said}");
        assert_eq!(woken.load(Ordering::SeqCst), 2);
        let there = lines(&disk);
        assert_eq!(there.len(), 21);
        for (k, line) in there.iter().enumerate() {
            let (number, content) = super::super::line::decode::<String>(line.as_bytes()).unwrap();
            assert_eq!(number, k as u64 + 1);
            assert_eq!(content, Line::Op(format!("step {}", k + 1)));
        }
    }

    #[test]
    fn what_must_be_on_disk_is_waited_for_and_not_longer_than_asked() {
        let disk = Shared::default();
        let mut writer = writer(&disk);
        writer.append(&"a".to_owned()).unwrap();
        assert!(writer.sync_within(Duration::from_secs(10)).is_err() && !writer.is_on_disk());
        disk.0.lock().unwrap().room = 1 << 20;
        assert!(writer.sync_within(Duration::from_secs(10)).unwrap() && writer.is_on_disk());
        writer.append(&"b".to_owned()).unwrap();
        assert!(!writer.is_on_disk());
        // A disk that does not answer.
        let hangs = disk.0.lock().unwrap();
        assert!(!writer.sync_within(Duration::from_millis(20)).unwrap());
        drop(hangs);
        writer.sync().unwrap();
        assert!(writer.is_on_disk());
    }

    #[test]
    fn the_disk_is_tried_again_unasked() {
        let disk = Shared::default();
        let mut writer = writer(&disk);
        writer.append(&"a".to_owned()).unwrap();
        heard(&writer);
        disk.0.lock().unwrap().room = 1 << 20;
        assert!(heard(&writer).contains("again"));
        assert_eq!(lines(&disk).len(), 1);
    }

    #[test]
    fn a_line_is_confirmed_within_a_second_or_two_and_at_the_end() {
        let disk = Shared::default();
        disk.0.lock().unwrap().room = 1 << 20;
        let mut one = writer(&disk);
        one.append(&"a".to_owned()).unwrap();
        let began = Instant::now();
        while lines(&disk).is_empty() && began.elapsed() < Duration::from_secs(10) {
            std::thread::sleep(Duration::from_millis(20));
        }
        assert_eq!(lines(&disk).len(), 1);
        for _ in 0..100 {
            one.append(&"b".to_owned()).unwrap();
        }
        drop(one);
        assert_eq!(lines(&disk).len(), 101);
    }

    #[test]
    fn what_is_left_at_the_end_is_owned_up_to() {
        let disk = Shared::default();
        let mut writer = writer(&disk);
        writer.append(&"a".to_owned()).unwrap();
        let said = writer.close().unwrap_err().to_string();
        assert!(said.contains("the last of it is lost (1 step)"), "{said}");
    }

    #[test]
    fn a_full_journal_takes_no_more() {
        let disk = Shared::default();
        let head = Head {
            path: "journal".into(),
            next: 9,
            length: LARGEST - 10,
        };
        let mut writer: Writer<String> = Writer::start(Tail::new(disk, 0), head).unwrap();
        let said = writer.append(&"a".to_owned()).unwrap_err().to_string();
        assert!(said.contains("journal is full"), "{said}");
    }

    /// A real device that has no room.
    #[cfg(target_os = "linux")]
    #[test]
    fn the_full_device_is_told() {
        let full = std::fs::OpenOptions::new()
            .write(true)
            .open("/dev/full")
            .unwrap();
        let head = Head {
            path: "/dev/full".into(),
            next: 1,
            length: 0,
        };
        let mut writer: Writer<String> = Writer::start(Tail::new(full, 0), head).unwrap();
        writer.append(&"a".to_owned()).unwrap();
        assert!(writer.sync().is_err());
        let said = heard(&writer);
        assert!(said.contains("the disk is full"), "{said}");
        assert_eq!(writer.trouble().map(|f| f.to_string()), Some(said));
    }
}
