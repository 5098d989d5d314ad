//! A window's surface: shows the kept picture, pixel for pixel.

use super::canvas::Canvas;
use super::device::Device;
use super::gpu::uniform;
use crate::fault::{Fault, Outcome};

/// Coloured pixels: sRGB codes, three a pixel, row by row from the top left.
#[derive(Debug, Clone, Copy)]
pub struct Pixels<'a> {
    pub width: u32,
    pub height: u32,
    pub rgb: &'a [u8],
}

/// What became of a frame.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Shown {
    Yes,
    /// The window can't be seen, or isn't ready: ask again later.
    Later,
    /// The surface is gone: open it anew.
    Lost,
}

/// A surface and what is shown on it.
#[derive(Debug)]
pub struct Screen {
    device: Device,
    surface: wgpu::Surface<'static>,
    config: wgpu::SurfaceConfiguration,
    pipeline: wgpu::RenderPipeline,
    layout: wgpu::BindGroupLayout,
    way: wgpu::Buffer,
    page: Option<wgpu::Texture>,
    table: Option<wgpu::Texture>,
    nothing: wgpu::Texture,
    room: f32,
    bound: Option<(wgpu::Texture, wgpu::BindGroup)>,
}

impl Screen {
    /// Sets a surface up for a window of the given size, px.
    ///
    /// # Errors
    /// If the device can't show on it.
    pub fn new(device: &Device, surface: wgpu::Surface<'static>, size: [u32; 2]) -> Outcome<Self> {
        let config = configured(device, &surface, size)?;
        let gpu = &device.device;
        let module = gpu.create_shader_module(wgpu::include_wgsl!("../../shaders/show.wgsl"));
        let texture = wgpu::BindingType::Texture {
            sample_type: wgpu::TextureSampleType::Float { filterable: false },
            view_dimension: wgpu::TextureViewDimension::D2,
            multisampled: false,
        };
        let entries = [uniform(), texture, texture, texture];
        let entries: Vec<_> = (0..)
            .zip(entries)
            .map(|(binding, ty)| wgpu::BindGroupLayoutEntry {
                binding,
                visibility: wgpu::ShaderStages::FRAGMENT,
                ty,
                count: None,
            })
            .collect();
        let layout = gpu.create_bind_group_layout(&wgpu::BindGroupLayoutDescriptor {
            label: Some("show"),
            entries: &entries,
        });
        let pipeline_layout = gpu.create_pipeline_layout(&wgpu::PipelineLayoutDescriptor {
            label: Some("show"),
            bind_group_layouts: &[Some(&layout)],
            immediate_size: 0,
        });
        let pipeline = gpu.create_render_pipeline(&wgpu::RenderPipelineDescriptor {
            label: Some("show"),
            layout: Some(&pipeline_layout),
            vertex: wgpu::VertexState {
                module: &module,
                entry_point: Some("cover"),
                compilation_options: wgpu::PipelineCompilationOptions::default(),
                buffers: &[],
            },
            fragment: Some(wgpu::FragmentState {
                module: &module,
                entry_point: Some("paint"),
                compilation_options: wgpu::PipelineCompilationOptions::default(),
                targets: &[Some(config.format.into())],
            }),
            primitive: wgpu::PrimitiveState::default(),
            depth_stencil: None,
            multisample: wgpu::MultisampleState::default(),
            multiview_mask: None,
            cache: None,
        });
        let way = gpu.create_buffer(&wgpu::BufferDescriptor {
            label: Some("way"),
            size: 32,
            usage: wgpu::BufferUsages::UNIFORM | wgpu::BufferUsages::COPY_DST,
            mapped_at_creation: false,
        });
        let nothing = upload(
            device,
            Pixels {
                width: 1,
                height: 1,
                rgb: &[0; 3],
            },
        );
        Ok(Self {
            device: device.clone(),
            surface,
            config,
            pipeline,
            layout,
            way,
            page: None,
            table: None,
            nothing,
            room: 0.0,
            bound: None,
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

    /// Puts a page of pixels behind the light, or takes it away. It must be of
    /// the picture's size.
    pub fn set_page(&mut self, page: Option<Pixels>) {
        self.page = page.map(|p| upload(&self.device, p));
        self.bound = None;
    }

    /// Shows a simulated table under the light (its reflectance, in the
    /// picture's pixels) in a room of the given light, the projector's white = 1.
    pub fn set_table(&mut self, table: Option<Pixels>, room: f32) {
        self.table = table.map(|p| upload(&self.device, p));
        self.room = room;
        self.bound = None;
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
            Current::Lost => return Ok(Shown::Lost),
            Current::Validation => {
                return Err(Fault::ours(
                    "the window's picture could not be made",
                    "start again; if it stays so, update the graphics driver",
                ));
            }
        };
        self.bind(canvas);
        let view = frame
            .texture
            .create_view(&wgpu::TextureViewDescriptor::default());
        let mut encoder = self
            .device
            .device
            .create_command_encoder(&Default::default());
        {
            let mut pass = encoder.begin_render_pass(&wgpu::RenderPassDescriptor {
                label: Some("show"),
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
            pass.set_pipeline(&self.pipeline);
            if let Some((_, group)) = &self.bound {
                pass.set_bind_group(0, group, &[]);
                pass.draw(0..3, 0..1);
            }
        }
        self.device.queue.submit([encoder.finish()]);
        self.device.queue.present(frame);
        Ok(Shown::Yes)
    }

    fn bind(&mut self, canvas: &Canvas) {
        let (width, height) = canvas.size();
        let on = |b: bool| if b { 1.0 } else { 0.0 };
        let way: [f32; 8] = [
            self.config.width as f32,
            self.config.height as f32,
            width as f32,
            height as f32,
            on(self.config.format.is_srgb()),
            on(self.page.is_some()),
            on(self.table.is_some()),
            self.room,
        ];
        let queue = &self.device.queue;
        queue.write_buffer(&self.way, 0, bytemuck::cast_slice(&way));
        let same = |(t, _): &(wgpu::Texture, wgpu::BindGroup)| t == canvas.texture();
        if self.bound.as_ref().is_some_and(same) {
            return;
        }
        let view = |t: &wgpu::Texture| t.create_view(&wgpu::TextureViewDescriptor::default());
        let light = view(canvas.texture());
        let page = view(self.page.as_ref().unwrap_or(&self.nothing));
        let table = view(self.table.as_ref().unwrap_or(&self.nothing));
        let entry = |binding, view| wgpu::BindGroupEntry {
            binding,
            resource: wgpu::BindingResource::TextureView(view),
        };
        let group = self
            .device
            .device
            .create_bind_group(&wgpu::BindGroupDescriptor {
                label: Some("show"),
                layout: &self.layout,
                entries: &[
                    wgpu::BindGroupEntry {
                        binding: 0,
                        resource: self.way.as_entire_binding(),
                    },
                    entry(1, &light),
                    entry(2, &page),
                    entry(3, &table),
                ],
            });
        self.bound = Some((canvas.texture().clone(), group));
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
            format!("{} can't show a picture in this window", device.name()),
            "update the graphics driver, or start with WGPU_BACKEND=gl",
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

fn upload(device: &Device, pixels: Pixels) -> wgpu::Texture {
    let size = wgpu::Extent3d {
        width: pixels.width.max(1),
        height: pixels.height.max(1),
        depth_or_array_layers: 1,
    };
    let texture = device.device.create_texture(&wgpu::TextureDescriptor {
        label: Some("pixels"),
        size,
        mip_level_count: 1,
        sample_count: 1,
        dimension: wgpu::TextureDimension::D2,
        format: wgpu::TextureFormat::Rgba8Unorm,
        usage: wgpu::TextureUsages::TEXTURE_BINDING | wgpu::TextureUsages::COPY_DST,
        view_formats: &[],
    });
    let rgba: Vec<u8> = pixels
        .rgb
        .chunks_exact(3)
        .flat_map(|p| [p[0], p[1], p[2], 255])
        .collect();
    if rgba.len() == (4 * size.width * size.height) as usize {
        device.queue.write_texture(
            texture.as_image_copy(),
            &rgba,
            wgpu::TexelCopyBufferLayout {
                offset: 0,
                bytes_per_row: Some(4 * size.width),
                rows_per_image: None,
            },
            size,
        );
    }
    texture
}
