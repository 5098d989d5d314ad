//! The kept picture and the two compute passes that redraw a rectangle of it.

use super::device::Device;
use super::edges::{Drawn, Rect};
use super::encode::thresholds;
use super::gpu::{GROUP, Stopwatch, TILE, bind, fetch, layout, run, storage, uniform};
use crate::fault::{Fault, Outcome};

/// Workgroups in one row of the scatter pass; the shader's `ROW_OF_GROUPS`.
const ROW_OF_GROUPS: u32 = 32768;

/// Edges in one batch: 16 MiB, well inside every driver's limit.
const BATCH: usize = 1 << 20;

/// Largest side of a picture, px: coordinates are i32 in 1/65536 px.
const LARGEST: u32 = 16_384;

/// A frame, read back: sRGB codes of white light, row by row from the top left.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Picture {
    pub width: u32,
    pub height: u32,
    pub codes: Vec<u8>,
}

/// What the projector shows.
#[derive(Debug)]
pub struct Canvas {
    device: Device,
    width: u32,
    height: u32,
    scatter: wgpu::ComputePipeline,
    gather: wgpu::ComputePipeline,
    job: wgpu::Buffer,
    edges: wgpu::Buffer,
    levels: wgpu::Buffer,
    sums: wgpu::Buffer,
    touched: wgpu::Buffer,
    cover_layout: wgpu::BindGroupLayout,
    cover: wgpu::BindGroup,
    encode: wgpu::BindGroup,
    texture: wgpu::Texture,
    stopwatch: Option<Stopwatch>,
    /// Kept between frames so that a redraw does not allocate.
    pending_edges: Vec<i32>,
    pending_levels: Vec<i32>,
}

impl Canvas {
    /// A dark picture of the given size.
    ///
    /// # Errors
    /// If the size is zero or beyond what the device can hold.
    pub fn new(device: &Device, width: u32, height: u32) -> Outcome<Self> {
        let limits = device.device.limits();
        let most = limits.max_texture_dimension_2d.min(LARGEST);
        let bytes = 4 * u64::from(width) * u64::from(height);
        let fits = bytes
            <= limits
                .max_storage_buffer_binding_size
                .min(limits.max_buffer_size);
        if width == 0 || height == 0 || width > most || height > most || !fits {
            return Err(Fault::input(
                format!("a picture of {width}x{height} px can't be drawn here"),
                format!("give a projector's size, at most {most}x{most} and as the memory allows"),
            ));
        }
        let gpu = &device.device;
        let module = gpu.create_shader_module(wgpu::include_wgsl!("../../shaders/cover.wgsl"));
        let buffer = |label, size: u64, usage| {
            gpu.create_buffer(&wgpu::BufferDescriptor {
                label: Some(label),
                size,
                usage,
                mapped_at_creation: false,
            })
        };
        let data = wgpu::BufferUsages::STORAGE | wgpu::BufferUsages::COPY_DST;
        let job = buffer(
            "job",
            32,
            wgpu::BufferUsages::UNIFORM | wgpu::BufferUsages::COPY_DST,
        );
        let edges = buffer("edges", 16 * 4096, data);
        let levels = buffer("levels", 4 * 4096, data);
        // wgpu hands buffers out zeroed, which is where the sums start.
        let sums = buffer(
            "sums",
            4 * u64::from(width) * u64::from(height),
            wgpu::BufferUsages::STORAGE,
        );
        let tiles = 4 * u64::from(width.div_ceil(TILE)) * u64::from(height);
        let touched = buffer("touched", tiles, wgpu::BufferUsages::STORAGE);
        let lit = buffer("lit", tiles, wgpu::BufferUsages::STORAGE);
        let codes = buffer("thresholds", 4 * 256, data);
        device
            .queue
            .write_buffer(&codes, 0, bytemuck::cast_slice(&thresholds()));
        let texture = gpu.create_texture(&wgpu::TextureDescriptor {
            label: Some("picture"),
            size: wgpu::Extent3d {
                width,
                height,
                depth_or_array_layers: 1,
            },
            mip_level_count: 1,
            sample_count: 1,
            dimension: wgpu::TextureDimension::D2,
            format: wgpu::TextureFormat::Rgba8Unorm,
            usage: wgpu::TextureUsages::STORAGE_BINDING
                | wgpu::TextureUsages::TEXTURE_BINDING
                | wgpu::TextureUsages::COPY_SRC,
            view_formats: &[],
        });
        let cover_layout = layout(
            gpu,
            &[
                uniform(),
                storage(true),
                storage(true),
                storage(false),
                storage(false),
            ],
        );
        let picture = wgpu::BindingType::StorageTexture {
            access: wgpu::StorageTextureAccess::WriteOnly,
            format: wgpu::TextureFormat::Rgba8Unorm,
            view_dimension: wgpu::TextureViewDimension::D2,
        };
        let encode_layout = layout(gpu, &[storage(true), picture, storage(false)]);
        let pipelines = gpu.create_pipeline_layout(&wgpu::PipelineLayoutDescriptor {
            label: Some("cover"),
            bind_group_layouts: &[Some(&cover_layout), Some(&encode_layout)],
            immediate_size: 0,
        });
        let pipeline = |entry| {
            gpu.create_compute_pipeline(&wgpu::ComputePipelineDescriptor {
                label: Some(entry),
                layout: Some(&pipelines),
                module: &module,
                entry_point: Some(entry),
                compilation_options: wgpu::PipelineCompilationOptions::default(),
                cache: None,
            })
        };
        let cover = bind(
            gpu,
            &cover_layout,
            &[&job, &edges, &levels, &sums, &touched],
        );
        let encode = gpu.create_bind_group(&wgpu::BindGroupDescriptor {
            label: Some("encode"),
            layout: &encode_layout,
            entries: &[
                wgpu::BindGroupEntry {
                    binding: 0,
                    resource: codes.as_entire_binding(),
                },
                wgpu::BindGroupEntry {
                    binding: 1,
                    resource: wgpu::BindingResource::TextureView(
                        &texture.create_view(&wgpu::TextureViewDescriptor::default()),
                    ),
                },
                wgpu::BindGroupEntry {
                    binding: 2,
                    resource: lit.as_entire_binding(),
                },
            ],
        });
        let mut canvas = Self {
            device: device.clone(),
            width,
            height,
            scatter: pipeline("scatter"),
            gather: pipeline("gather"),
            job,
            edges,
            levels,
            sums,
            touched,
            cover_layout,
            cover,
            encode,
            texture,
            stopwatch: None,
            pending_edges: Vec::new(),
            pending_levels: Vec::new(),
        };
        canvas.redraw(Rect::of_size(width, height), []);
        Ok(canvas)
    }

    /// Measures the passes of each redraw from here on, where the device can.
    pub fn start_stopwatch(&mut self) {
        self.stopwatch = Stopwatch::new(&self.device.device);
    }

    /// The picture's size in px.
    pub fn size(&self) -> (u32, u32) {
        (self.width, self.height)
    }

    /// The kept picture itself.
    pub(super) fn texture(&self) -> &wgpu::Texture {
        &self.texture
    }

    /// Draws a rectangle of the picture anew: `figures` must be all that
    /// touch it (others do no harm). The rest of the picture stays.
    pub fn redraw<'a>(&mut self, rect: Rect, figures: impl IntoIterator<Item = &'a Drawn>) {
        let tile = TILE as i32;
        let rect = Rect {
            left: rect.left.div_euclid(tile) * tile,
            right: (rect.right + tile - 1).div_euclid(tile) * tile,
            ..rect
        }
        .intersection(&Rect::of_size(self.width, self.height));
        if rect.is_empty() {
            return;
        }
        self.collect(rect, figures);
        self.make_room();
        // More edges than a buffer holds are added batch by batch: sums add up.
        let batches = self.pending_levels.len().div_ceil(BATCH).max(1);
        for batch in 0..batches {
            self.pass(rect, batch * BATCH, batch + 1 == batches);
        }
    }

    /// Adds a batch of the pending edges to the sums; after the last, makes the
    /// picture of them.
    fn pass(&self, rect: Rect, first: usize, last: bool) {
        let end = self.pending_levels.len().min(first + BATCH);
        let (edges, levels) = (
            &self.pending_edges[4 * first..4 * end],
            &self.pending_levels[first..end],
        );
        let count = levels.len() as u32;
        let queue = &self.device.queue;
        let job = [
            rect.left,
            rect.top,
            rect.right,
            rect.bottom,
            self.width as i32,
            self.width.div_ceil(TILE) as i32,
            count as i32,
            run(rect.right - rect.left),
        ];
        queue.write_buffer(&self.job, 0, bytemuck::cast_slice(&job));
        if count > 0 {
            queue.write_buffer(&self.edges, 0, bytemuck::cast_slice(edges));
            queue.write_buffer(&self.levels, 0, bytemuck::cast_slice(levels));
        }
        let mut encoder = self
            .device
            .device
            .create_command_encoder(&Default::default());
        {
            let watch = self.stopwatch.as_ref();
            let mut pass = encoder.begin_compute_pass(&wgpu::ComputePassDescriptor {
                label: Some("cover"),
                timestamp_writes: watch.map(Stopwatch::writes),
            });
            pass.set_bind_group(0, &self.cover, &[]);
            pass.set_bind_group(1, &self.encode, &[]);
            if count > 0 {
                let groups = count.div_ceil(GROUP);
                pass.set_pipeline(&self.scatter);
                pass.dispatch_workgroups(
                    groups.min(ROW_OF_GROUPS),
                    groups.div_ceil(ROW_OF_GROUPS),
                    1,
                );
            }
            if last {
                pass.set_pipeline(&self.gather);
                pass.dispatch_workgroups((rect.bottom - rect.top) as u32, 1, 1);
            }
        }
        if let Some(w) = &self.stopwatch {
            w.resolve(&mut encoder);
        }
        queue.submit([encoder.finish()]);
    }

    /// Gathers the edges that can touch `rect`.
    fn collect<'a>(&mut self, rect: Rect, figures: impl IntoIterator<Item = &'a Drawn>) {
        self.pending_edges.clear();
        self.pending_levels.clear();
        let (top, right, bottom) = (rect.top << 16, rect.right << 16, rect.bottom << 16);
        for figure in figures {
            let r = figure.rect;
            if rect.intersection(&r).is_empty() {
                continue;
            }
            if r == rect.intersection(&r) {
                self.pending_edges
                    .extend_from_slice(figure.edges.as_flattened());
                self.pending_levels.extend_from_slice(&figure.levels);
                continue;
            }
            for (e, level) in figure.edges.iter().zip(&figure.levels) {
                let outside =
                    e[1].max(e[3]) <= top || e[1].min(e[3]) >= bottom || e[0].min(e[2]) >= right;
                if !outside {
                    self.pending_edges.extend_from_slice(e);
                    self.pending_levels.push(*level);
                }
            }
        }
    }

    /// Grows the edge buffers if this frame has more than any before.
    fn make_room(&mut self) {
        let needed = 4 * self.pending_levels.len().min(BATCH) as u64;
        if needed <= self.levels.size() {
            return;
        }
        let gpu = &self.device.device;
        let size = needed.next_power_of_two();
        let buffer = |label, size| {
            gpu.create_buffer(&wgpu::BufferDescriptor {
                label: Some(label),
                size,
                usage: wgpu::BufferUsages::STORAGE | wgpu::BufferUsages::COPY_DST,
                mapped_at_creation: false,
            })
        };
        self.edges = buffer("edges", 4 * size);
        self.levels = buffer("levels", size);
        self.cover = bind(
            gpu,
            &self.cover_layout,
            &[
                &self.job,
                &self.edges,
                &self.levels,
                &self.sums,
                &self.touched,
            ],
        );
    }

    /// Seconds the device spent on the last redraw, where it can tell. Waits
    /// for it to finish.
    pub fn seconds(&self) -> Outcome<Option<f64>> {
        let Some(w) = &self.stopwatch else {
            return Ok(None);
        };
        let bytes = fetch(&self.device, &w.read)?;
        w.read.unmap();
        let ticks: Vec<u64> = bytes
            .chunks_exact(8)
            .map(|c| c.iter().rev().fold(0, |v, b| v << 8 | u64::from(*b)))
            .collect();
        let period = f64::from(self.device.queue.get_timestamp_period()) * 1e-9;
        Ok(Some(ticks[1].saturating_sub(ticks[0]) as f64 * period))
    }

    /// Reads the picture back.
    pub fn read(&self) -> Outcome<Picture> {
        // Rows in a copy are padded to this many bytes.
        let pitch = (4 * self.width).next_multiple_of(wgpu::COPY_BYTES_PER_ROW_ALIGNMENT);
        let gpu = &self.device.device;
        let buffer = gpu.create_buffer(&wgpu::BufferDescriptor {
            label: Some("read"),
            size: u64::from(pitch) * u64::from(self.height),
            usage: wgpu::BufferUsages::COPY_DST | wgpu::BufferUsages::MAP_READ,
            mapped_at_creation: false,
        });
        let mut encoder = gpu.create_command_encoder(&Default::default());
        encoder.copy_texture_to_buffer(
            self.texture.as_image_copy(),
            wgpu::TexelCopyBufferInfo {
                buffer: &buffer,
                layout: wgpu::TexelCopyBufferLayout {
                    offset: 0,
                    bytes_per_row: Some(pitch),
                    rows_per_image: None,
                },
            },
            self.texture.size(),
        );
        self.device.queue.submit([encoder.finish()]);
        let bytes = fetch(&self.device, &buffer)?;
        let row = |r: &[u8]| -> Vec<u8> {
            r.iter()
                .step_by(4)
                .copied()
                .take(self.width as usize)
                .collect()
        };
        Ok(Picture {
            width: self.width,
            height: self.height,
            codes: bytes.chunks_exact(pitch as usize).flat_map(row).collect(),
        })
    }
}
