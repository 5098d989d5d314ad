//! Word of a graphics device that is lost: unplugged, restarted by its driver,
//! or gone while the laptop slept.

use super::Wake;
use crate::render::Device;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::Arc;
use winit::event_loop::EventLoopProxy;

/// Opened anew this often within [`SOON`] seconds, a device is given up.
const MOST: usize = 4;
const SOON: f64 = 20.0;

/// Counts the devices, so that word of one that is gone already counts no more.
#[derive(Debug, Default)]
pub struct Devices {
    opened: u32,
    /// When each was lost, seconds.
    lost: Vec<f64>,
}

impl Devices {
    /// Watches a device that has just been opened. Errors that nothing catches
    /// count as its loss: after one, whatever is asked of it fails.
    pub fn watch(&mut self, device: &Device, proxy: &EventLoopProxy<Wake>) {
        self.opened += 1;
        let which = self.opened;
        let (gpu, _) = device.gpu();
        let tell = proxy.clone();
        gpu.set_device_lost_callback(move |_, why| {
            let _ = tell.send_event(Wake::DeviceLost { which, why });
        });
        let tell = proxy.clone();
        gpu.on_uncaptured_error(Arc::new(move |error| {
            let why = error.to_string();
            let _ = tell.send_event(Wake::DeviceLost { which, why });
        }));
        #[cfg(debug_assertions)]
        lose_later(gpu, which);
    }

    /// Whether this is the device in use.
    pub fn is_in_use(&self, which: u32) -> bool {
        which == self.opened
    }

    /// Takes in a loss at `now`, seconds; whether it has come so often that
    /// opening the device again is no use.
    pub fn is_hopeless(&mut self, now: f64) -> bool {
        self.lost.retain(|then| now - *then < SOON);
        self.lost.push(now);
        self.lost.len() >= MOST
    }
}

/// Drops what a lost device leaves behind. One that went in the middle of a frame still
/// holds it, which the graphics library takes for a fault and panics over: nothing more
/// can be done for it, and the work goes on.
pub fn let_go<T>(what: T) {
    let _ = catch_unwind(AssertUnwindSafe(move || drop(what)));
}

/// For the test of the windows: the first device is lost after so many seconds.
#[cfg(debug_assertions)]
fn lose_later(gpu: &wgpu::Device, which: u32) {
    let wanted = std::env::var("GHOSTCHALK_LOSE_DEVICE_AFTER");
    let seconds = wanted.ok().and_then(|s| s.parse::<f64>().ok());
    let (Some(seconds), 1) = (seconds, which) else {
        return;
    };
    let gpu = gpu.clone();
    std::thread::spawn(move || {
        std::thread::sleep(std::time::Duration::from_secs_f64(seconds));
        gpu.destroy();
    });
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn word_of_an_earlier_device_counts_no_more_and_four_losses_are_enough() {
        let mut devices = Devices {
            opened: 2,
            lost: Vec::new(),
        };
        assert!(!devices.is_in_use(1) && devices.is_in_use(2));
        for k in 0..3 {
            assert!(!devices.is_hopeless(f64::from(k)));
        }
        assert!(devices.is_hopeless(4.0));
        assert!(!devices.is_hopeless(30.0));
    }
}
