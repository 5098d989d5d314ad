//! A window's surface: shows the kept picture, pixel for pixel.

use super::canvas::Canvas;
use super::device::Device;
use super::painter::{Painter, Pixels};
use crate::colour::Tint;
use crate::fault::{Fault, Outcome};

/// What became of a frame.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Shown {
    Yes,
    /// The window can't be seen, or isn't ready: ask again later.
    Later,
    /// The surface is gone: open it anew.
    Lost,
}

/// A window's surface, and what paints it.
#[derive(Debug)]
pub struct Screen {
    device: Device,
    surface: wgpu::Surface<'static>,
    config: wgpu::SurfaceConfiguration,
    painter: Painter,
}

impl Screen {
    /// Sets a surface up for a window of the given size, px.
    ///
    /// # Errors
    /// If the device can't show on it.
    pub fn new(device: &Device, surface: wgpu::Surface<'static>, size: [u32; 2]) -> Outcome<Self> {
        let config = configured(device, &surface, size)?;
        Ok(Self {
            device: device.clone(),
            painter: Painter::new(device, config.format),
            surface,
            config,
        })
    }

    /// The window's size, px.
    pub fn size(&self) -> [u32; 2] {
        [self.config.width, self.config.height]
    }

    /// The window has another size.
    pub fn resize(&mut self, [width, height]: [u32; 2]) {
        self.config.width = width.max(1);
        self.config.height = height.max(1);
        self.surface.configure(&self.device.device, &self.config);
    }

    /// As [`Painter::set_page`].
    pub fn set_page(&mut self, page: Option<Pixels>) {
        self.painter.set_page(page);
    }

    /// As [`Painter::set_table`].
    pub fn set_table(&mut self, table: Option<Pixels>, room: f32) {
        self.painter.set_table(table, room);
    }

    /// As [`Painter::set_tint`].
    pub fn set_tint(&mut self, tint: Tint) {
        self.painter.set_tint(tint);
    }

    /// Shows the canvas.
    ///
    /// # Errors
    /// If the surface asks for what is not there: a fault of ours.
    pub fn show(&mut self, canvas: &Canvas) -> Outcome<Shown> {
        use wgpu::CurrentSurfaceTexture as Current;
        let frame = match self.surface.get_current_texture() {
            Current::Success(frame) => frame,
            Current::Suboptimal(frame) => {
                drop(frame);
                self.surface.configure(&self.device.device, &self.config);
                return Ok(Shown::Later);
            }
            Current::Outdated => {
                self.surface.configure(&self.device.device, &self.config);
                return Ok(Shown::Later);
            }
            Current::Timeout | Current::Occluded => return Ok(Shown::Later),
            // A lost device answers with either.
            Current::Lost | Current::Validation => return Ok(Shown::Lost),
        };
        self.painter.paint(canvas, &frame.texture);
        self.device.queue.present(frame);
        Ok(Shown::Yes)
    }
}

/// Sets a surface up: sRGB codes are handed through as they are, where the
/// window can; one frame of latency.
///
/// # Errors
/// If the device can't show on it.
pub fn configured(
    device: &Device,
    surface: &wgpu::Surface,
    [width, height]: [u32; 2],
) -> Outcome<wgpu::SurfaceConfiguration> {
    let none = || {
        Fault::ours(
            format!(
                "the graphics card {} can't show a picture in this window",
                device.name()
            ),
            "update its driver, or start with `WGPU_BACKEND=gl ghostchalk light`",
        )
    };
    let mut config = surface
        .get_default_config(&device.adapter, width.max(1), height.max(1))
        .ok_or_else(none)?;
    let formats = surface.get_capabilities(&device.adapter).formats;
    if let Some(plain) = formats.iter().find(|f| !f.is_srgb() && eight_bits(**f)) {
        config.format = *plain;
    }
    config.present_mode = wgpu::PresentMode::AutoVsync;
    config.desired_maximum_frame_latency = 1;
    surface.configure(&device.device, &config);
    Ok(config)
}

fn eight_bits(format: wgpu::TextureFormat) -> bool {
    use wgpu::TextureFormat as F;
    matches!(format, F::Rgba8Unorm | F::Bgra8Unorm)
}
