//! The same polygons by a peer that draws on the card, by the very device that ours draws on.

use crate::drivers::{texture, told};
use crate::frames::exact;
use crate::peers::curve;
use crate::report::{Report, Subject};
use crate::scenes::{self, Patch, SIZES};
use crate::timing::{Laps, Plan, Samples};
use crate::{demo_folder, said};
use ghostchalk::fault::{Fault, Outcome};
use ghostchalk::job::Job;
use ghostchalk::render::{Device, Wanted};
use std::time::Duration;
use vello::kurbo::Affine;
use vello::peniko::{Color, Fill};
use vello::{AaConfig, AaSupport, RenderParams, Renderer, RendererOptions, Scene};

/// A software driver takes half a second and more for a frame.
const PATIENT: Plan = Plan {
    warm_up: 1,
    runs: 60,
    budget: Duration::from_secs(6),
    least: 3,
};

/// `--quick`: the smaller picture alone.
///
/// # Errors
/// If there is no Vulkan driver, or it can't draw a scene.
pub fn run(words: &[String]) -> Outcome<()> {
    let quick = said(words, "--quick");
    let (sizes, plan) = match quick {
        true => (1, Plan::QUICK),
        false => (SIZES.len(), PATIENT),
    };
    let device = Device::open(Wanted::Vulkan)?;
    let mut report = Report::default();
    report.fact("vello 0.11 (area), Vulkan", told(&device));
    let job = Job::open(&demo_folder())?;
    let pattern = scenes::pattern();
    for size in SIZES.into_iter().take(sizes) {
        let profile = scenes::profile(size)?;
        let map = profile.mapping()?;
        for lay in [
            scenes::demo(&job, &profile, &map)?,
            scenes::full_table(&pattern)?,
        ] {
            let at = Subject {
                by: "vello",
                scene: lay.name,
                size: Some(size),
            };
            let patches = lay.polygons(&map);
            let (frame, light) = drawn(&device, &patches, size, plan)?;
            report.time(at, "whole frame, scene kept", &frame);
            report.error(at, exact(&patches, size).compare(&light));
        }
    }
    report.print();
    Ok(())
}

fn broken(what: impl std::fmt::Display) -> Fault {
    Fault::ours(
        format!("vello can't draw the scene: {what}"),
        "leave this peer out",
    )
}

/// What a frame takes until the device is done, and its coverage, pixel by pixel.
fn drawn(
    device: &Device,
    patches: &[Patch],
    [width, height]: [u32; 2],
    plan: Plan,
) -> Outcome<(Samples, Vec<f64>)> {
    let (gpu, queue) = device.gpu();
    let mut scene = Scene::new();
    for patch in patches {
        let path = curve(patch);
        scene.fill(Fill::NonZero, Affine::IDENTITY, Color::WHITE, None, &path);
    }
    let options = RendererOptions {
        use_cpu: false,
        antialiasing_support: AaSupport::area_only(),
        num_init_threads: None,
        pipeline_cache: None,
    };
    let mut renderer = Renderer::new(gpu, options).map_err(broken)?;
    let params = RenderParams {
        base_color: Color::BLACK,
        width,
        height,
        antialiasing_method: AaConfig::Area,
    };
    let usage = wgpu::TextureUsages::STORAGE_BINDING | wgpu::TextureUsages::COPY_SRC;
    let texture = texture(
        device,
        [width, height],
        wgpu::TextureFormat::Rgba8Unorm,
        usage,
    );
    let view = texture.create_view(&wgpu::TextureViewDescriptor::default());
    let [frame] = plan.repeat(|_| {
        let mut laps = Laps::start();
        renderer
            .render_to_texture(gpu, queue, &scene, &view, &params)
            .map_err(broken)?;
        device.wait()?;
        Ok([laps.lap()])
    })?;
    Ok((frame, red(device, &texture)?))
}

/// The red of each pixel, as a share of white.
fn red(device: &Device, texture: &wgpu::Texture) -> Outcome<Vec<f64>> {
    let (gpu, queue) = device.gpu();
    let (width, height) = (texture.width(), texture.height());
    // Rows in a copy are padded to this many bytes.
    let pitch = (4 * width).next_multiple_of(wgpu::COPY_BYTES_PER_ROW_ALIGNMENT);
    let buffer = gpu.create_buffer(&wgpu::BufferDescriptor {
        label: Some("read"),
        size: u64::from(pitch) * u64::from(height),
        usage: wgpu::BufferUsages::COPY_DST | wgpu::BufferUsages::MAP_READ,
        mapped_at_creation: false,
    });
    let mut encoder = gpu.create_command_encoder(&wgpu::CommandEncoderDescriptor::default());
    encoder.copy_texture_to_buffer(
        texture.as_image_copy(),
        wgpu::TexelCopyBufferInfo {
            buffer: &buffer,
            layout: wgpu::TexelCopyBufferLayout {
                offset: 0,
                bytes_per_row: Some(pitch),
                rows_per_image: None,
            },
        },
        texture.size(),
    );
    queue.submit([encoder.finish()]);
    let slice = buffer.slice(..);
    slice.map_async(wgpu::MapMode::Read, |_| {});
    device.wait()?;
    let bytes = slice.get_mapped_range().map_err(broken)?;
    let rows = bytes.chunks_exact(pitch as usize);
    let pixels = rows.flat_map(|row| row[..4 * width as usize].chunks_exact(4));
    Ok(pixels.map(|p| f64::from(p[0]) / 255.0).collect())
}
