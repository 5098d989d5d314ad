//! The buffers in which a redraw's edges go to the device.
//!
//! Where the driver allows, the processor writes straight into what the device
//! reads: no copy, and nothing made or thrown away for a frame. A few buffers take
//! turns, for one that the device still reads can't be written. Elsewhere there is
//! one, and wgpu copies.

use super::device::Device;
use super::edges::LitEdge;
use super::gpu::{layout, storage, uniform};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};

/// What the shader calls `Job`: twelve numbers.
pub(super) type Job = [i32; 12];

/// Where the edges begin: no driver wants storage aligned to more than this.
const HEAD: u64 = 256;

/// Edges that a new buffer holds at least.
const LEAST: usize = 4096;

/// Buffers that take turns: one being read, one waiting, one being written.
const MOST: usize = 3;

#[derive(Debug)]
struct Parcel {
    buffer: wgpu::Buffer,
    group: wgpu::BindGroup,
    /// Whether the processor may write to it.
    ours: Arc<AtomicBool>,
}

/// All parcels of one canvas.
#[derive(Debug)]
pub(super) struct Parcels {
    layout: wgpu::BindGroupLayout,
    direct: bool,
    all: Vec<Parcel>,
}

impl Parcels {
    pub(super) fn new(device: &Device) -> Self {
        let gpu = &device.device;
        let direct = gpu
            .features()
            .contains(wgpu::Features::MAPPABLE_PRIMARY_BUFFERS);
        Self {
            layout: layout(gpu, &[uniform(), storage(true)]),
            direct,
            all: Vec::new(),
        }
    }

    /// How a parcel is bound: the job, then the edges.
    pub(super) fn layout(&self) -> &wgpu::BindGroupLayout {
        &self.layout
    }

    /// Fills a parcel; `None` if the device is lost. To be followed by
    /// [`Parcels::sent`] once the work that reads it is submitted.
    pub(super) fn fill(
        &mut self,
        device: &Device,
        job: &Job,
        edges: &[&[LitEdge]],
    ) -> Option<usize> {
        let count = edges.iter().map(|run| run.len()).sum();
        let k = self.free(device, count);
        let buffer = &self.all[k].buffer;
        let end = HEAD + (size_of::<LitEdge>() * count) as u64;
        if self.direct {
            let mut view = buffer.get_mapped_range_mut(..end).ok()?;
            write(job, edges, |at, bytes| {
                view.slice(at..at + bytes.len()).copy_from_slice(bytes);
            });
            drop(view);
            buffer.unmap();
            self.all[k].ours.store(false, Ordering::Relaxed);
        } else {
            let size = wgpu::BufferSize::new(end)?;
            let mut view = device.queue.write_buffer_with(buffer, 0, size)?;
            write(job, edges, |at, bytes| {
                view.slice(at..at + bytes.len()).copy_from_slice(bytes);
            });
        }
        Some(k)
    }

    /// The bindings of a filled parcel.
    pub(super) fn group(&self, k: usize) -> &wgpu::BindGroup {
        &self.all[k].group
    }

    /// Asks for a parcel back, for when the device has read it.
    pub(super) fn sent(&self, k: usize) {
        if self.direct {
            let Parcel { buffer, ours, .. } = &self.all[k];
            let ours = Arc::clone(ours);
            buffer.map_async(wgpu::MapMode::Write, .., move |got| {
                ours.store(got.is_ok(), Ordering::Release);
            });
        }
    }

    /// A parcel with room for `count` edges that the processor may write to.
    fn free(&mut self, device: &Device, count: usize) -> usize {
        let needed = HEAD + size_of::<LitEdge>() as u64 * count as u64;
        let ours = |p: &Parcel| p.ours.load(Ordering::Acquire);
        let fits = |p: &Parcel| ours(p) && p.buffer.size() >= needed;
        if let Some(k) = self.all.iter().position(fits) {
            return k;
        }
        if self.all.len() == MOST && !self.all.iter().any(ours) {
            // The device is three redraws behind. Should it be lost, a new buffer
            // does no harm.
            let _ = device.wait();
            if let Some(k) = self.all.iter().position(fits) {
                return k;
            }
        }
        let new = self.parcel(device, count);
        if let Some(k) = self.all.iter().position(ours) {
            self.all[k] = new;
            return k;
        }
        if self.all.len() == MOST {
            self.all.remove(0);
        }
        self.all.push(new);
        self.all.len() - 1
    }

    fn parcel(&self, device: &Device, count: usize) -> Parcel {
        let gpu = &device.device;
        let edges = count.next_power_of_two().max(LEAST);
        let data = wgpu::BufferUsages::STORAGE | wgpu::BufferUsages::UNIFORM;
        let buffer = gpu.create_buffer(&wgpu::BufferDescriptor {
            label: Some("edges"),
            size: HEAD + size_of::<LitEdge>() as u64 * edges as u64,
            usage: data
                | if self.direct {
                    wgpu::BufferUsages::MAP_WRITE
                } else {
                    wgpu::BufferUsages::COPY_DST
                },
            mapped_at_creation: self.direct,
        });
        let part = |binding, offset, size| wgpu::BindGroupEntry {
            binding,
            resource: wgpu::BindingResource::Buffer(wgpu::BufferBinding {
                buffer: &buffer,
                offset,
                size: wgpu::BufferSize::new(size),
            }),
        };
        let group = gpu.create_bind_group(&wgpu::BindGroupDescriptor {
            label: Some("edges"),
            layout: &self.layout,
            entries: &[
                part(0, 0, size_of::<Job>() as u64),
                part(1, HEAD, buffer.size() - HEAD),
            ],
        });
        Parcel {
            buffer,
            group,
            ours: Arc::new(AtomicBool::new(true)),
        }
    }
}

/// Hands over what a parcel holds, each part with its place in bytes: first what is to be done,
/// then the edges, run after run.
fn write(job: &Job, edges: &[&[LitEdge]], mut put: impl FnMut(usize, &[u8])) {
    put(0, bytemuck::cast_slice(job));
    let mut at = HEAD as usize;
    for run in edges {
        let bytes: &[u8] = bytemuck::cast_slice(run);
        put(at, bytes);
        at += bytes.len();
    }
}
