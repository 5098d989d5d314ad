//! Small things that the canvas asks of the device: layouts, bindings, reading
//! back, its clock.

use super::device::Device;
use crate::fault::{Fault, Outcome};

/// Invocations in a workgroup; the shader's `@workgroup_size`.
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
            format!("the picture could not be read back: {e}"),
            "start again; if it stays so, update the graphics driver",
        )
    })?;
    Ok(view.to_vec())
}

/// Pixels that a lane of the second pass takes in a row of `width` px: the
/// least power of two with which a workgroup spans it, or whole tiles.
pub(super) fn run(width: i32) -> i32 {
    let (group, tile) = (GROUP as i32, TILE as i32);
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

pub(super) fn bind(
    gpu: &wgpu::Device,
    layout: &wgpu::BindGroupLayout,
    buffers: &[&wgpu::Buffer],
) -> wgpu::BindGroup {
    let entries: Vec<_> = (0..)
        .zip(buffers)
        .map(|(binding, buffer)| wgpu::BindGroupEntry {
            binding,
            resource: buffer.as_entire_binding(),
        })
        .collect();
    gpu.create_bind_group(&wgpu::BindGroupDescriptor {
        label: None,
        layout,
        entries: &entries,
    })
}
