//! The panel's window: egui on a surface of its own, beside the projector's.

use super::Wake;
use super::lost::let_go;
use super::panel::dress;
use crate::fault::Outcome;
use crate::render::{Device, Drivers, configured};
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::Arc;
use std::time::Duration;
use winit::event::WindowEvent;
use winit::event_loop::{ActiveEventLoop, EventLoopProxy};
use winit::window::Window;

/// egui, its painter and its window.
pub struct PanelWindow {
    pub window: Arc<Window>,
    device: Device,
    surface: wgpu::Surface<'static>,
    config: wgpu::SurfaceConfiguration,
    painter: egui_wgpu::Renderer,
    input: egui_winit::State,
    lost: bool,
    /// Assistive technology reads the panel.
    read_out: bool,
}

/// The panel's window, and what of it must outlive its painter: assistive
/// technology can be let in only before a window is first shown.
pub struct Frame {
    pub window: Arc<Window>,
    access: Option<egui_winit::accesskit_winit::Adapter>,
    read_out: bool,
}

impl Frame {
    /// Of a window that was never shown.
    pub fn new(
        window: Arc<Window>,
        event_loop: &ActiveEventLoop,
        proxy: EventLoopProxy<Wake>,
    ) -> Self {
        use egui_winit::accesskit_winit::Adapter;
        let adapter = Adapter::with_event_loop_proxy(event_loop, &window, proxy);
        Self {
            window,
            access: Some(adapter),
            read_out: false,
        }
    }
}

impl PanelWindow {
    /// Opens the painter for a window.
    ///
    /// # Errors
    /// If the device can't show in it.
    pub fn new(drivers: &Drivers, device: &Device, frame: Frame) -> Outcome<Self> {
        let Frame {
            window,
            access,
            read_out,
        } = frame;
        let surface = drivers.surface(Arc::clone(&window))?;
        let size = window.inner_size();
        let config = configured(device, &surface, [size.width, size.height])?;
        let (gpu, _) = device.gpu();
        let options = egui_wgpu::RendererOptions::default();
        let painter = egui_wgpu::Renderer::new(gpu, config.format, options);
        let mut input = egui_winit::State::new(
            dressed(),
            egui::ViewportId::ROOT,
            &window,
            Some(window.scale_factor() as f32),
            None,
            Some(gpu.limits().max_texture_dimension_2d as usize),
        );
        input.accesskit = access;
        if read_out {
            input.egui_ctx().enable_accesskit();
        }
        window.set_visible(true);
        Ok(Self {
            window,
            device: device.clone(),
            surface,
            config,
            painter,
            input,
            lost: false,
            read_out,
        })
    }

    /// The window without its painter, for another device's.
    pub fn give_up(mut self) -> Frame {
        let access = self.input.accesskit.take();
        let_go((self.surface, self.painter, self.device));
        Frame {
            window: self.window,
            access,
            read_out: self.read_out,
        }
    }

    /// Gives egui an event; whether it wants to paint.
    pub fn takes(&mut self, event: &WindowEvent) -> bool {
        match event {
            // egui answers this one with a wish to paint again, without end.
            WindowEvent::RedrawRequested => false,
            WindowEvent::Resized(size) => {
                self.config.width = size.width.max(1);
                self.config.height = size.height.max(1);
                self.surface.configure(self.device.gpu().0, &self.config);
                let _ = self.input.on_window_event(&self.window, event);
                true
            }
            event => self.input.on_window_event(&self.window, event).repaint,
        }
    }

    /// What assistive technology asks of the panel.
    pub fn asked(&mut self, event: egui_winit::accesskit_winit::WindowEvent) {
        use egui_winit::accesskit_winit::WindowEvent as Asked;
        match event {
            Asked::InitialTreeRequested => {
                self.read_out = true;
                self.input.egui_ctx().enable_accesskit();
            }
            Asked::ActionRequested(request) => {
                self.input.on_accesskit_action_request(request);
            }
            Asked::AccessibilityDeactivated => {
                self.read_out = false;
                self.input.egui_ctx().disable_accesskit();
            }
        }
    }

    /// Nothing can be painted in it any more: it wants another device.
    pub fn is_lost(&self) -> bool {
        self.lost
    }

    pub fn context(&self) -> &egui::Context {
        self.input.egui_ctx()
    }

    /// Runs the panel and paints it. Returns when it wants to be painted again.
    pub fn paint(&mut self, show: impl FnMut(&mut egui::Ui)) -> Option<Duration> {
        let raw = self.input.take_egui_input(&self.window);
        let ctx = self.input.egui_ctx().clone();
        let mut out = ctx.run_ui(raw, show);
        self.input
            .handle_platform_output(&self.window, out.platform_output);
        let (gpu, queue) = self.device.gpu();
        // The textures must be taken in even if the frame can't be shown.
        for (id, deltas) in &out.textures_delta.set {
            for delta in deltas {
                self.painter.update_texture(gpu, queue, *id, delta);
            }
        }
        let freed = out.textures_delta.free.clone();
        // Taken in: egui wants it said.
        out.textures_delta.clear();
        self.present(
            &ctx.tessellate(out.shapes, out.pixels_per_point),
            out.pixels_per_point,
        );
        for id in &freed {
            self.painter.free_texture(id);
        }
        let again = out.viewport_output.get(&egui::ViewportId::ROOT);
        again
            .map(|v| v.repaint_delay)
            .filter(|d| *d < Duration::from_secs(3600))
    }

    fn set_up_again(&self) {
        self.surface.configure(self.device.gpu().0, &self.config);
        self.window.request_redraw();
    }

    fn present(&mut self, shapes: &[egui::ClippedPrimitive], scale: f32) {
        use wgpu::CurrentSurfaceTexture as Current;
        let (gpu, queue) = self.device.gpu();
        let frame = match self.surface.get_current_texture() {
            Current::Success(frame) => frame,
            Current::Suboptimal(frame) => {
                // A frame that is still held can't be set up anew.
                drop(frame);
                self.set_up_again();
                return;
            }
            Current::Outdated => {
                self.set_up_again();
                return;
            }
            Current::Timeout | Current::Occluded => return,
            // A lost device answers with either.
            Current::Lost | Current::Validation => {
                self.lost = true;
                return;
            }
        };
        let screen = egui_wgpu::ScreenDescriptor {
            size_in_pixels: [self.config.width, self.config.height],
            pixels_per_point: scale,
        };
        let mut encoder = gpu.create_command_encoder(&Default::default());
        // A device that is lost between two frames has no buffer to give, and the panel's
        // painter takes that for a fault of its own: it is a lost device all the same.
        let painter = &mut self.painter;
        let filled = catch_unwind(AssertUnwindSafe(|| {
            painter.update_buffers(gpu, queue, &mut encoder, shapes, &screen)
        }));
        let Ok(mut commands) = filled else {
            self.lost = true;
            return;
        };
        let view = frame
            .texture
            .create_view(&wgpu::TextureViewDescriptor::default());
        {
            let pass = encoder.begin_render_pass(&wgpu::RenderPassDescriptor {
                label: Some("panel"),
                color_attachments: &[Some(wgpu::RenderPassColorAttachment {
                    view: &view,
                    depth_slice: None,
                    resolve_target: None,
                    ops: wgpu::Operations {
                        load: wgpu::LoadOp::Clear(wgpu::Color::BLACK),
                        store: wgpu::StoreOp::Store,
                    },
                })],
                ..Default::default()
            });
            self.painter
                .render(&mut pass.forget_lifetime(), shapes, &screen);
        }
        commands.push(encoder.finish());
        queue.submit(commands);
        queue.present(frame);
    }
}

/// egui in the panel's own look.
fn dressed() -> egui::Context {
    let ctx = egui::Context::default();
    dress(&ctx);
    ctx
}
