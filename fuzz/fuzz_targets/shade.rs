#![no_main]

libfuzzer_sys::fuzz_target!(|data: &[u8]| (ghostchalk_fuzz::targets::shades::SHADE.run)(data));
