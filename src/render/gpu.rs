//! Small things that the canvas asks of the device: layouts, bindings, reading
//! back, its clock.

use super::device::Device;
use crate::fault::{Fault, Outcome};

/// Invocations in a workgroup of the first pass; the shader's `@workgroup_size`.
pub(super) const GROUP: u32 = 64;
/// Pixels in a row's tile; the shader shifts by 5.
pub(super) const TILE: u32 = 32;

/// The device's own clock round the passes of a redraw.
#[derive(Debug)]
pub(super) struct Stopwatch {
    set: wgpu::QuerySet,
    resolved: wgpu::Buffer,
    pub(super) read: wgpu::Buffer,
}

impl Stopwatch {
    /// `None` where the device has no clock.
    pub(super) fn new(gpu: &wgpu::Device) -> Option<Self> {
        if !gpu.features().contains(wgpu::Features::TIMESTAMP_QUERY) {
            return None;
        }
        let buffer = |usage| {
            gpu.create_buffer(&wgpu::BufferDescriptor {
                label: Some("stopwatch"),
                size: 16,
                usage,
                mapped_at_creation: false,
            })
        };
        Some(Self {
            set: gpu.create_query_set(&wgpu::QuerySetDescriptor {
                label: Some("stopwatch"),
                ty: wgpu::QueryType::Timestamp,
                count: 2,
            }),
            resolved: buffer(wgpu::BufferUsages::QUERY_RESOLVE | wgpu::BufferUsages::COPY_SRC),
            read: buffer(wgpu::BufferUsages::COPY_DST | wgpu::BufferUsages::MAP_READ),
        })
    }

    /// What a pass has to note.
    pub(super) fn writes(&self) -> wgpu::ComputePassTimestampWrites<'_> {
        wgpu::ComputePassTimestampWrites {
            query_set: &self.set,
            beginning_of_pass_write_index: Some(0),
            end_of_pass_write_index: Some(1),
        }
    }

    /// Makes the noted times ready to be read.
    pub(super) fn resolve(&self, encoder: &mut wgpu::CommandEncoder) {
        encoder.resolve_query_set(&self.set, 0..2, &self.resolved, 0);
        encoder.copy_buffer_to_buffer(&self.resolved, 0, &self.read, 0, 16);
    }
}

/// Maps a buffer and copies it out; the caller unmaps.
pub(super) fn fetch(device: &Device, buffer: &wgpu::Buffer) -> Outcome<Vec<u8>> {
    let slice = buffer.slice(..);
    slice.map_async(wgpu::MapMode::Read, |_| {});
    device.wait()?;
    let view = slice.get_mapped_range().map_err(|e| {
        Fault::ours(
            format!("the graphics card did not give the picture back: {e}"),
            "start again; if it stays so, update the driver of the graphics card",
        )
    })?;
    Ok(view.to_vec())
}

/// How finely the work is cut up; the picture is the same, bit for bit.
#[derive(Debug, Clone, Copy)]
pub(super) struct Tuning {
    /// Lanes in a workgroup of the second pass, 64 or 256; the shader's `LANES`.
    pub(super) lanes: u32,
    /// Edges are shared by several invocations in the first pass while no more
    /// than this many are busy.
    pub(super) shared: u32,
    /// Edges in one submission, > 0: 20 MiB, well inside every driver's limit.
    pub(super) batch: usize,
}

impl Tuning {
    /// A card runs many lanes for the asking, and its frame is as long as the
    /// longest of them. A processor's cores are busy with few.
    pub(super) fn of(device: &Device) -> Self {
        let most = device.device.limits().max_compute_invocations_per_workgroup;
        let software = device.is_software();
        Self {
            lanes: if software || most < 256 { 64 } else { 256 },
            shared: if software { 0 } else { 1 << 17 },
            batch: 1 << 20,
        }
    }

    /// Invocations that share each of so many edges, as a power of two along its
    /// rows, and the same along its columns.
    pub(super) fn sharing(self, edges: u32) -> u32 {
        let each = self.shared.checked_div(edges).unwrap_or(0);
        (each.max(1).ilog2() / 2).min(3)
    }
}

/// Pixels that each of a group's lanes takes in a row of `width` px: the least
/// power of two with which they span it, or whole tiles.
pub(super) fn run(width: i32, lanes: u32) -> i32 {
    let (group, tile) = (lanes as i32, TILE as i32);
    let least = (width + group - 1) / group;
    if least > tile {
        (least + tile - 1) / tile * tile
    } else {
        (least.max(1) as u32).next_power_of_two() as i32
    }
}

pub(super) fn uniform() -> wgpu::BindingType {
    wgpu::BindingType::Buffer {
        ty: wgpu::BufferBindingType::Uniform,
        has_dynamic_offset: false,
        min_binding_size: None,
    }
}

pub(super) fn storage(read_only: bool) -> wgpu::BindingType {
    wgpu::BindingType::Buffer {
        ty: wgpu::BufferBindingType::Storage { read_only },
        has_dynamic_offset: false,
        min_binding_size: None,
    }
}

pub(super) fn layout(gpu: &wgpu::Device, types: &[wgpu::BindingType]) -> wgpu::BindGroupLayout {
    let entries: Vec<_> = (0..)
        .zip(types)
        .map(|(binding, ty)| wgpu::BindGroupLayoutEntry {
            binding,
            visibility: wgpu::ShaderStages::COMPUTE,
            ty: *ty,
            count: None,
        })
        .collect();
    gpu.create_bind_group_layout(&wgpu::BindGroupLayoutDescriptor {
        label: None,
        entries: &entries,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn few_edges_are_shared_and_many_are_not() {
        let card = Tuning {
            lanes: 256,
            shared: 1 << 17,
            batch: 1,
        };
        let of = [0, 830, 4096, 30_000, 170_000].map(|n| card.sharing(n));
        assert_eq!(of, [0, 3, 2, 1, 0]);
        let software = Tuning { shared: 0, ..card };
        assert_eq!(software.sharing(830), 0);
    }
}
