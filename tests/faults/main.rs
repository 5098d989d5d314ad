//! What may happen to files, all of it: the program is killed at every call by which a file is
//! changed, the disk fills or breaks at every one, files are cut short, damaged, marked read-only,
//! swapped for another version's, and lie at odd paths; the clock goes back; two programs want one
//! job. After each the next start has all that was confirmed, says what it found, and writes over
//! nothing that it could not read.
//!
//! The kernel is asked to hand over every such call (`stop.c`), which only Linux does so.
#![cfg(all(
    target_os = "linux",
    target_env = "gnu",
    any(target_arch = "x86_64", target_arch = "aarch64")
))]

mod child;
mod clock;
mod damaged;
mod failing;
mod journal;
mod killed;
mod litter;
mod odd_paths;
mod programs;
mod protected;
mod shim;
mod two;
mod versions;
mod world;
