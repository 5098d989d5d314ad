//! Paints the kept picture on a window's texture, pixel for pixel; a page of
//! pixels, or a simulated table, with it.

use super::canvas::Canvas;
use super::device::Device;
use super::gpu::uniform;
use crate::colour::Tint;

/// Coloured pixels: sRGB codes, three a pixel, row by row from the top left.
#[derive(Debug, Clone, Copy)]
pub struct Pixels<'a> {
    pub width: u32,
    pub height: u32,
    pub rgb: &'a [u8],
}

/// The pipeline that paints, and what it paints beside the picture.
#[derive(Debug)]
pub struct Painter {
    device: Device,
    format: wgpu::TextureFormat,
    /// For every case; for codes handed through, without and with a page.
    any: wgpu::RenderPipeline,
    plain: wgpu::RenderPipeline,
    paged: wgpu::RenderPipeline,
    layout: wgpu::BindGroupLayout,
    way: wgpu::Buffer,
    page: Option<wgpu::Texture>,
    table: Option<wgpu::Texture>,
    nothing: wgpu::Texture,
    room: f32,
    tint: Tint,
    bound: Option<(wgpu::Texture, wgpu::BindGroup)>,
}

impl Painter {
    /// For textures of this format.
    pub fn new(device: &Device, format: wgpu::TextureFormat) -> Self {
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
        let pipeline = |entry: &str| {
            gpu.create_render_pipeline(&wgpu::RenderPipelineDescriptor {
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
                    entry_point: Some(entry),
                    compilation_options: wgpu::PipelineCompilationOptions::default(),
                    targets: &[Some(format.into())],
                }),
                primitive: wgpu::PrimitiveState::default(),
                depth_stencil: None,
                multisample: wgpu::MultisampleState::default(),
                multiview_mask: None,
                cache: None,
            })
        };
        let way = gpu.create_buffer(&wgpu::BufferDescriptor {
            label: Some("way"),
            size: 48,
            usage: wgpu::BufferUsages::UNIFORM | wgpu::BufferUsages::COPY_DST,
            mapped_at_creation: false,
        });
        let nothing = Pixels {
            width: 1,
            height: 1,
            rgb: &[0; 3],
        };
        Self {
            nothing: upload(device, nothing),
            device: device.clone(),
            format,
            any: pipeline("paint"),
            plain: pipeline("paint_plain"),
            paged: pipeline("paint_page"),
            layout,
            way,
            page: None,
            table: None,
            room: 0.0,
            tint: Tint::White,
            bound: None,
        }
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

    /// Paints the canvas in this colour: its channels have the canvas' codes, or none. A page
    /// keeps its own colours.
    pub fn set_tint(&mut self, tint: Tint) {
        self.tint = tint;
    }

    /// Paints the canvas over the whole of a texture.
    pub fn paint(&mut self, canvas: &Canvas, onto: &wgpu::Texture) {
        self.bind(canvas, [onto.width(), onto.height()]);
        let view = onto.create_view(&wgpu::TextureViewDescriptor::default());
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
            pass.set_pipeline(self.pipeline(canvas, onto));
            if let Some((_, group)) = &self.bound {
                pass.set_bind_group(0, group, &[]);
                pass.draw(0..3, 0..1);
            }
        }
        self.device.queue.submit([encoder.finish()]);
    }

    /// The quickest that will do.
    fn pipeline(&self, canvas: &Canvas, onto: &wgpu::Texture) -> &wgpu::RenderPipeline {
        let same = canvas.size() == (onto.width(), onto.height());
        match (&self.table, &self.page) {
            _ if !same || self.format.is_srgb() => &self.any,
            (Some(_), _) => &self.any,
            (None, Some(_)) => &self.paged,
            (None, None) => &self.plain,
        }
    }

    fn bind(&mut self, canvas: &Canvas, window: [u32; 2]) {
        let (width, height) = canvas.size();
        let on = |b: bool| if b { 1.0 } else { 0.0 };
        let [red, green, blue] = self.tint.channels().map(on);
        let way: [f32; 12] = [
            window[0] as f32,
            window[1] as f32,
            width as f32,
            height as f32,
            on(self.format.is_srgb()),
            on(self.page.is_some()),
            on(self.table.is_some()),
            self.room,
            red,
            green,
            blue,
            0.0,
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

#[cfg(test)]
mod tests {
    use super::super::gpu::fetch;
    use super::super::{Drawn, Rect, Wanted};
    use super::*;
    use crate::scene::Level;

    const SIZE: [u32; 2] = [128, 40];

    /// A window's texture, painted and read back: its red codes.
    fn painted(device: &Device, change: impl FnOnce(&mut Painter)) -> Vec<[u8; 3]> {
        let [width, height] = SIZE;
        let mut canvas = Canvas::new(device, width, height).unwrap();
        canvas.redraw(
            Rect::of_size(width, height),
            [&Drawn::sheet(width, height, Level(100))],
        );
        let format = wgpu::TextureFormat::Rgba8Unorm;
        let mut painter = Painter::new(device, format);
        change(&mut painter);
        let size = wgpu::Extent3d {
            width,
            height,
            depth_or_array_layers: 1,
        };
        let window = device.device.create_texture(&wgpu::TextureDescriptor {
            label: None,
            size,
            mip_level_count: 1,
            sample_count: 1,
            dimension: wgpu::TextureDimension::D2,
            format,
            usage: wgpu::TextureUsages::RENDER_ATTACHMENT | wgpu::TextureUsages::COPY_SRC,
            view_formats: &[],
        });
        painter.paint(&canvas, &window);
        let read = device.device.create_buffer(&wgpu::BufferDescriptor {
            label: None,
            size: u64::from(4 * width * height),
            usage: wgpu::BufferUsages::COPY_DST | wgpu::BufferUsages::MAP_READ,
            mapped_at_creation: false,
        });
        let mut encoder = device.device.create_command_encoder(&Default::default());
        encoder.copy_texture_to_buffer(
            window.as_image_copy(),
            wgpu::TexelCopyBufferInfo {
                buffer: &read,
                layout: wgpu::TexelCopyBufferLayout {
                    offset: 0,
                    bytes_per_row: Some(4 * width),
                    rows_per_image: None,
                },
            },
            size,
        );
        device.queue.submit([encoder.finish()]);
        let bytes = fetch(device, &read).unwrap();
        bytes.chunks_exact(4).map(|p| [p[0], p[1], p[2]]).collect()
    }

    /// In every way of painting, a channel that is on has the white light's code, to the last
    /// bit, and one that is off has none; what is no light of ours keeps its colours.
    #[test]
    fn a_colour_s_channels_have_the_white_s_codes_or_none() {
        let drivers = [Wanted::Vulkan, Wanted::Gl];
        let devices = drivers.into_iter().filter_map(|w| Device::open(w).ok());
        let devices: Vec<Device> = devices.collect();
        assert!(!devices.is_empty(), "no graphics driver");
        for device in &devices {
            let white = painted(device, |_| ())[0][0];
            let [width, height] = SIZE;
            let rgb = [9, 90, 200].repeat((width * height) as usize);
            let page = Pixels {
                width,
                height,
                rgb: &rgb,
            };
            let grey = vec![255; rgb.len()];
            let table = Pixels { rgb: &grey, ..page };
            for tint in Tint::ALL {
                let plain = painted(device, |p| p.set_tint(tint));
                let want = tint.codes(white);
                assert!(plain.iter().all(|p| *p == want), "{tint:?} {:?}", plain[0]);
                let paged = painted(device, |p| {
                    p.set_page(Some(page));
                    p.set_tint(tint);
                });
                let over = [0, 1, 2].map(|k| want[k].max([9, 90, 200][k]));
                assert!(paged.iter().all(|p| *p == over), "{tint:?} {:?}", paged[0]);
                // A white table in the dark gives back what falls on it.
                let seen = painted(device, |p| {
                    p.set_table(Some(table), 0.0);
                    p.set_tint(tint);
                });
                let near = |(c, w): (&u8, u8)| c.abs_diff(w) <= 1;
                assert!(seen[0].iter().zip(want).all(near), "{tint:?} {:?}", seen[0]);
            }
        }
    }

    #[test]
    fn a_window_shows_the_codes_as_they_are_a_page_behind_them_and_a_table_under_them() {
        let device = Device::open(Wanted::Best).unwrap();
        // 100 of 255 in light is code 168 (IEC 61966-2-1).
        let code = |light: f64| (crate::colour::encode_srgb(light) * 255.0).round() as i32;
        let lit = code(100.0 / 255.0);
        let near = |seen: u8, want: i32| (i32::from(seen) - want).abs() <= 1;
        let plain = painted(&device, |_| ());
        assert!(plain.iter().all(|p| p.iter().all(|c| i32::from(*c) == lit)));

        let [width, height] = SIZE;
        let mut rgb = vec![0; (3 * width * height) as usize];
        // One red pixel, at (5, 2).
        let at = (2 * width + 5) as usize;
        rgb[3 * at] = 250;
        let page = Pixels {
            width,
            height,
            rgb: &rgb,
        };
        let paged = painted(&device, |p| p.set_page(Some(page)));
        assert!(near(paged[at][0], 250) && near(paged[at][1], lit));
        assert_eq!(paged[at + 1], plain[at + 1]);

        let grey = vec![188; (3 * width * height) as usize];
        let table = Pixels {
            width,
            height,
            rgb: &grey,
        };
        let seen = painted(&device, |p| p.set_table(Some(table), 0.0));
        // Reflectance one half times the light.
        let half = crate::colour::decode_srgb(188.0 / 255.0);
        assert!(
            near(seen[at][0], code(half * 100.0 / 255.0)),
            "{:?}",
            seen[at]
        );
    }
}
