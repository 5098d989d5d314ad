//! The projector's window: where it stands, and what it shows.

use super::outputs::Output;
use crate::fault::{Fault, Outcome};
use crate::render::{Canvas, Device, Screen, Shown};
use crate::space::{Point, Projector};
use std::sync::Arc;
use std::time::{Duration, Instant};
use winit::dpi::{PhysicalPosition, PhysicalSize};
use winit::event_loop::ActiveEventLoop;
use winit::window::{Fullscreen, Window};

/// The projector's window and its surface.
pub struct Beamer {
    pub window: Arc<Window>,
    pub screen: Screen,
    /// The output it stands on; `None`: an ordinary window.
    pub output: Option<Output>,
    pub watch: Watch,
}

/// An ordinary window's size, desktop pixels.
const ORDINARY: [u32; 2] = [1280, 720];

/// A desktop moves windows about for so long before they stand.
const SETTLES: Duration = Duration::from_millis(400);

/// A desktop that will not have the window there is asked so often.
const MOST_TRIES: u32 = 5;

/// Opens the window, on its output if there is one.
///
/// # Errors
/// If the desktop won't open one.
pub fn open_window(event_loop: &ActiveEventLoop, output: Option<&Output>) -> Outcome<Arc<Window>> {
    let mut wanted = Window::default_attributes()
        .with_title("Ghostchalk: light")
        .with_inner_size(PhysicalSize::new(ORDINARY[0], ORDINARY[1]));
    if let Some(o) = output {
        wanted = wanted
            .with_decorations(false)
            .with_position(PhysicalPosition::new(o.place[0], o.place[1]))
            .with_inner_size(PhysicalSize::new(o.size[0], o.size[1]));
    }
    let window = event_loop.create_window(wanted).map_err(|e| {
        Fault::ours(
            format!("the desktop would not open a window: {e}"),
            "start it from a desktop, not from a text console",
        )
    })?;
    let window = Arc::new(window);
    place(event_loop, &window, output);
    Ok(window)
}

/// Puts a window on its output, pixel for pixel; without one, where the
/// desktop likes.
pub fn place(event_loop: &ActiveEventLoop, window: &Window, output: Option<&Output>) {
    let Some(o) = output else {
        window.set_fullscreen(None);
        window.set_cursor_visible(true);
        return;
    };
    window.set_visible(true);
    let mut known = event_loop.available_monitors();
    let same = known.find(|m| {
        let (p, s) = (m.position(), m.size());
        [p.x, p.y] == o.place && [s.width, s.height] == o.size
    });
    match same {
        Some(monitor) => window.set_fullscreen(Some(Fullscreen::Borderless(Some(monitor)))),
        None => {
            // An output that the windowing library has not heard of.
            window.set_fullscreen(None);
            window.set_decorations(false);
            window.set_outer_position(PhysicalPosition::new(o.place[0], o.place[1]));
            let _ = window.request_inner_size(PhysicalSize::new(o.size[0], o.size[1]));
        }
    }
    // The pointer of light is the pointer.
    window.set_cursor_visible(false);
}

/// Looks at where the window stands, some time after it was moved.
#[derive(Debug, Default)]
pub struct Watch {
    due: Option<Instant>,
    tries: u32,
}

impl Watch {
    /// The window was moved or changed its size: not by us, perhaps.
    pub fn moved(&mut self) {
        self.due.get_or_insert_with(|| Instant::now() + SETTLES);
    }

    pub fn due(&self) -> Option<Instant> {
        self.due
    }
}

impl Beamer {
    /// Puts the window back on its output if the desktop has taken it away, as
    /// some do when an output goes and comes again while nobody looks.
    pub fn stay(&mut self, event_loop: &ActiveEventLoop) {
        if self.watch.due.is_none_or(|due| Instant::now() < due) {
            return;
        }
        self.watch.due = None;
        let Some(output) = &self.output else { return };
        let at = self.window.outer_position();
        let size = self.window.inner_size();
        // Some desktops do not say.
        let there = at.map_or(true, |p| [p.x, p.y] == output.place);
        if there && [size.width, size.height] == output.size {
            self.watch.tries = 0;
        } else if self.watch.tries < MOST_TRIES {
            self.watch.tries += 1;
            // Asked for what it believes to have, the library would do nothing.
            self.window.set_fullscreen(None);
            place(event_loop, &self.window, Some(output));
            self.watch.moved();
        }
    }

    /// # Errors
    /// If no driver can draw in the window.
    pub fn new(
        device: &Device,
        surface: wgpu::Surface<'static>,
        window: Arc<Window>,
        output: Option<Output>,
    ) -> Outcome<Self> {
        let size = window.inner_size();
        let screen = Screen::new(device, surface, [size.width, size.height])?;
        Ok(Self {
            window,
            screen,
            output,
            watch: Watch::default(),
        })
    }

    /// The picture's pixel under a place in the window.
    pub fn pixel(&self, x: f64, y: f64, [width, height]: [u32; 2]) -> Point<Projector> {
        let [w, h] = self.screen.size().map(f64::from);
        Point::new(x * f64::from(width) / w, y * f64::from(height) / h)
    }

    /// Shows the picture.
    ///
    /// # Errors
    /// As [`Screen::show`].
    pub fn show(&mut self, canvas: &Canvas) -> Outcome<Shown> {
        let shown = self.screen.show(canvas)?;
        if shown == Shown::Later {
            self.window.request_redraw();
        }
        Ok(shown)
    }
}
