//! What the fuzzer runs. The targets themselves need nothing but the program, so that its tests
//! can run them over the seeds and regressions as well.

pub mod targets;
