#![no_main]

libfuzzer_sys::fuzz_target!(|data: &[u8]| (ghostchalk_fuzz::targets::sought::FIT.run)(data));
