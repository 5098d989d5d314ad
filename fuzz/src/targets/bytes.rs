//! Numbers drawn from the bytes of an input: whatever the bytes, what comes out is finite and
//! of a size that a table has, so that a fault found is one that a person could meet.

/// What is left of an input. When nothing is, all is nought.
pub struct Bytes<'a> {
    rest: &'a [u8],
}

impl<'a> Bytes<'a> {
    pub fn new(rest: &'a [u8]) -> Self {
        Self { rest }
    }

    pub fn byte(&mut self) -> u8 {
        match self.rest.split_first() {
            Some((first, rest)) => {
                self.rest = rest;
                *first
            }
            None => 0,
        }
    }

    pub fn word(&mut self) -> u16 {
        u16::from_le_bytes([self.byte(), self.byte()])
    }

    pub fn flag(&mut self) -> bool {
        self.byte() % 2 == 1
    }

    /// A whole number below `end`; 0 if that is 0.
    pub fn below(&mut self, end: usize) -> usize {
        usize::from(self.byte()) % end.max(1)
    }

    /// A length within 2 m of nought, in sixteenths of a millimetre.
    pub fn mm(&mut self) -> f64 {
        let sixteenths = i16::from_le_bytes([self.byte(), self.byte()]);
        f64::from(sixteenths) / 16.0
    }

    /// From 0 to below 1.
    pub fn share(&mut self) -> f64 {
        f64::from(self.word()) / 65536.0
    }

    /// All that is left.
    pub fn rest(self) -> &'a [u8] {
        self.rest
    }
}
