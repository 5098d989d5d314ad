//! The kept picture and the two compute passes that redraw a rectangle of it.

use super::device::Device;
use super::edges::{Drawn, LitEdge};
use super::encode::thresholds;
use super::gpu::{GROUP, Stopwatch, TILE, Tuning, fetch, layout, run, storage};
use super::parcel::Parcels;
use super::rect::Rect;
use crate::colour::Tint;
use crate::fault::{Fault, Outcome};

/// Workgroups in one row of the scatter pass; the shader's `ROW_OF_GROUPS`.
const ROW_OF_GROUPS: u32 = 32768;

/// Largest side of a picture, px: coordinates are i32 in 1/65536 px.
const LARGEST: u32 = 16_384;

/// A frame, read back: sRGB codes of white light, row by row from the top left.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Picture {
    pub width: u32,
    pub height: u32,
    pub codes: Vec<u8>,
}

impl Picture {
    /// Red, green and blue of each pixel, if this light has a colour.
    pub fn tinted(&self, tint: Tint) -> Vec<u8> {
        self.codes.iter().flat_map(|c| tint.codes(*c)).collect()
    }
}

/// What the projector shows.
#[derive(Debug)]
pub struct Canvas {
    device: Device,
    width: u32,
    height: u32,
    scatter: wgpu::ComputePipeline,
    gather: wgpu::ComputePipeline,
    tuning: Tuning,
    parcels: Parcels,
    kept: wgpu::BindGroup,
    texture: wgpu::Texture,
    stopwatch: Option<Stopwatch>,
    /// Room for edges that are picked one by one, kept between frames.
    parts: Vec<LitEdge>,
}

impl Canvas {
    /// A dark picture of the given size.
    ///
    /// # Errors
    /// If the size is zero or beyond what the device can hold.
    pub fn new(device: &Device, width: u32, height: u32) -> Outcome<Self> {
        Self::tuned(device, width, height, Tuning::of(device))
    }

    fn tuned(device: &Device, width: u32, height: u32, tuning: Tuning) -> Outcome<Self> {
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
        // wgpu hands buffers out zeroed, which is where the sums start.
        let sums = buffer(
            "sums",
            4 * u64::from(width) * u64::from(height),
            wgpu::BufferUsages::STORAGE,
        );
        let tiles = 4 * u64::from(width.div_ceil(TILE)) * u64::from(height);
        let touched = buffer("touched", tiles, wgpu::BufferUsages::STORAGE);
        let lit = buffer("lit", tiles, wgpu::BufferUsages::STORAGE);
        let codes = buffer(
            "thresholds",
            4 * 256,
            wgpu::BufferUsages::STORAGE | wgpu::BufferUsages::COPY_DST,
        );
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
        let picture = wgpu::BindingType::StorageTexture {
            access: wgpu::StorageTextureAccess::WriteOnly,
            format: wgpu::TextureFormat::Rgba8Unorm,
            view_dimension: wgpu::TextureViewDimension::D2,
        };
        let kept_layout = layout(
            gpu,
            &[
                storage(false),
                storage(false),
                storage(true),
                picture,
                storage(false),
            ],
        );
        let parcels = Parcels::new(device);
        let pipelines = gpu.create_pipeline_layout(&wgpu::PipelineLayoutDescriptor {
            label: Some("cover"),
            bind_group_layouts: &[Some(parcels.layout()), Some(&kept_layout)],
            immediate_size: 0,
        });
        let pipeline = |entry, constants| {
            gpu.create_compute_pipeline(&wgpu::ComputePipelineDescriptor {
                label: Some(entry),
                layout: Some(&pipelines),
                module: &module,
                entry_point: Some(entry),
                compilation_options: wgpu::PipelineCompilationOptions {
                    constants,
                    // Each lane writes before any reads.
                    zero_initialize_workgroup_memory: false,
                },
                cache: None,
            })
        };
        let view = texture.create_view(&wgpu::TextureViewDescriptor::default());
        let resources = [
            sums.as_entire_binding(),
            touched.as_entire_binding(),
            codes.as_entire_binding(),
            wgpu::BindingResource::TextureView(&view),
            lit.as_entire_binding(),
        ];
        let entries: Vec<_> = (0..)
            .zip(resources)
            .map(|(binding, resource)| wgpu::BindGroupEntry { binding, resource })
            .collect();
        let kept = gpu.create_bind_group(&wgpu::BindGroupDescriptor {
            label: Some("kept"),
            layout: &kept_layout,
            entries: &entries,
        });
        let mut canvas = Self {
            device: device.clone(),
            width,
            height,
            scatter: pipeline("scatter", &[]),
            gather: pipeline("gather", &[("LANES", f64::from(tuning.lanes))]),
            tuning,
            parcels,
            kept,
            texture,
            stopwatch: None,
            parts: Vec::new(),
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
        let mut parts = std::mem::take(&mut self.parts);
        let whole = collect(rect, figures, &mut parts);
        let mut batch: Vec<&[LitEdge]> = Vec::new();
        let most = self.tuning.batch;
        let mut room = most;
        for mut run in whole.into_iter().chain([parts.as_slice()]) {
            // More edges than a buffer holds are added batch by batch: sums add up.
            while run.len() > room {
                let (now, rest) = run.split_at(room);
                batch.push(now);
                self.pass(rect, &batch, false);
                batch.clear();
                (run, room) = (rest, most);
            }
            room -= run.len();
            batch.push(run);
        }
        self.pass(rect, &batch, true);
        self.parts = parts;
    }

    /// Adds a batch of edges to the sums; after the last, makes the picture of them.
    fn pass(&mut self, rect: Rect, edges: &[&[LitEdge]], last: bool) {
        let count = edges.iter().map(|run| run.len()).sum::<usize>() as u32;
        let sharing = self.tuning.sharing(count);
        let job = [
            rect.left,
            rect.top,
            rect.right,
            rect.bottom,
            self.width as i32,
            self.width.div_ceil(TILE) as i32,
            count as i32,
            run(rect.right - rect.left, self.tuning.lanes),
            sharing as i32,
            0,
            0,
            0,
        ];
        let Some(parcel) = self.parcels.fill(&self.device, &job, edges) else {
            return;
        };
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
            pass.set_bind_group(0, self.parcels.group(parcel), &[]);
            pass.set_bind_group(1, &self.kept, &[]);
            if count > 0 {
                let groups = (count << (2 * sharing)).div_ceil(GROUP);
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
        self.device.queue.submit([encoder.finish()]);
        self.parcels.sent(parcel);
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

/// The edges that can touch `rect`: whole runs as they stand in the figures, and in `parts`
/// those of rings that reach out of it. In which order edges are added does not matter.
fn collect<'a>(
    rect: Rect,
    figures: impl IntoIterator<Item = &'a Drawn>,
    parts: &mut Vec<LitEdge>,
) -> Vec<&'a [LitEdge]> {
    let mut whole = Vec::new();
    parts.clear();
    let (top, right, bottom) = (rect.top << 16, rect.right << 16, rect.bottom << 16);
    for figure in figures {
        let common = rect.intersection(&figure.rect);
        if common.is_empty() {
            continue;
        }
        if common == figure.rect {
            whole.push(figure.edges.as_slice());
            continue;
        }
        for (edges, at) in figure.rings() {
            let common = rect.intersection(&at);
            // A ring that is closed outside the rectangle adds nothing in it.
            if common == at {
                whole.push(edges);
            } else if !common.is_empty() {
                parts.extend(edges.iter().filter(|e| {
                    let [x0, y0, x1, y1, _] = **e;
                    y0.max(y1) > top && y0.min(y1) < bottom && x0.min(x1) < right
                }));
            }
        }
    }
    whole
}

#[cfg(test)]
mod tests {
    use super::super::{Wanted, draw};
    use super::*;
    use crate::projection::{Homography, Mapping};
    use crate::scene::{Figure, Level, Patch};
    use crate::shape::Region;
    use crate::space::Point;

    /// Edges of every slant, some off the picture, some over many rows and columns.
    fn drawn(map: &Mapping) -> Vec<Drawn> {
        let star = |k: u32| {
            let middle = Point::new(f64::from(k * 61 % 500), f64::from(k * 37 % 200));
            let mut ring = Region::disc(middle, 30.0).rings.remove(0);
            for (n, p) in ring.iter_mut().enumerate().skip(k as usize % 3).step_by(3) {
                *p = middle + (*p - middle) * (1.0 + n as f64 / 20.0);
            }
            let patch = Patch {
                region: Region::ring(ring),
                level: Level(9 + (k % 4) as i16),
            };
            Figure {
                patches: vec![patch],
                height: 0.0,
            }
        };
        (0..20).map(|k| draw(&star(k), map, 500, 200)).collect()
    }

    #[test]
    fn however_the_work_is_cut_up_the_picture_is_the_same() {
        let rows = [[1.1, 0.1, -9.0], [0.05, -0.9, 190.0], [1e-4, 2e-4, 1.0]];
        let drawn = drawn(&Mapping::plane(Homography::from_rows(rows).unwrap()));
        let device = Device::open(Wanted::Best).unwrap();
        let batched = |lanes, shared, batch| {
            let tuning = Tuning {
                lanes,
                shared,
                batch,
            };
            let mut canvas = Canvas::tuned(&device, 500, 200, tuning).unwrap();
            canvas.redraw(Rect::of_size(500, 200), &drawn);
            canvas.redraw(Rect::of_size(130, 90), &drawn[..10]);
            canvas.redraw(Rect::of_size(130, 90), &drawn);
            canvas.read().unwrap()
        };
        let picture = |lanes, shared| batched(lanes, shared, 1 << 20);
        let plain = picture(64, 0);
        assert!(plain.codes.iter().any(|c| *c > 0));
        for shift in [12, 14, 16, 20] {
            assert!(picture(64, 1 << shift) == plain, "{shift}");
        }
        assert!(picture(256, 0) == plain);
        assert!(picture(256, 1 << 20) == plain);
        // In several goes, which end within a run of edges and at its end.
        let count = drawn[0].edges().count();
        for batch in [97, count, count + 1, 20 * count] {
            assert!(batched(64, 0, batch) == plain, "{batch}");
        }
    }
}
