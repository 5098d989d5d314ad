//! The projector's window: where it stands, and what it shows.

use super::outputs::Output;
use crate::fault::{Fault, Outcome};
use crate::render::{Canvas, Device, Screen, Shown};
use crate::space::{Point, Projector};
use std::sync::Arc;
use winit::dpi::{PhysicalPosition, PhysicalSize};
use winit::event_loop::ActiveEventLoop;
use winit::window::{Fullscreen, Window};

/// The projector's window and its surface.
pub struct Beamer {
    pub window: Arc<Window>,
    pub screen: Screen,
    /// The output it stands on; `None`: an ordinary window.
    pub output: Option<Output>,
}

/// An ordinary window's size, desktop pixels.
const ORDINARY: [u32; 2] = [1280, 720];

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
            "check that a desktop is running",
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

impl Beamer {
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
