//! What draws: the drivers that are measured, what an opened one is called, and a texture for
//! it to draw into.

use ghostchalk::render::{Device, Wanted};

/// Each with the name that its figures go by.
pub const DRIVERS: [(Wanted, &str); 2] = [(Wanted::Vulkan, "Vulkan"), (Wanted::Gl, "GL")];

/// A device, its driver, and what it is: a line for people.
pub fn told(device: &Device) -> String {
    let kind = match device.is_software() {
        true => "software",
        false => "a graphics card",
    };
    match device.driver() {
        driver if driver.is_empty() => format!("{}, {kind}", device.name()),
        driver => format!("{}, {driver}, {kind}", device.name()),
    }
}

/// A picture of so many px on the device.
pub fn texture(
    device: &Device,
    [width, height]: [u32; 2],
    format: wgpu::TextureFormat,
    usage: wgpu::TextureUsages,
) -> wgpu::Texture {
    device.gpu().0.create_texture(&wgpu::TextureDescriptor {
        label: Some("bench"),
        size: wgpu::Extent3d {
            width,
            height,
            depth_or_array_layers: 1,
        },
        mip_level_count: 1,
        sample_count: 1,
        dimension: wgpu::TextureDimension::D2,
        format,
        usage,
        view_formats: &[],
    })
}
