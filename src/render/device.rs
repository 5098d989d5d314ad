//! The graphics processor, or a software stand-in for one.

use crate::fault::{Fault, Outcome};

/// Which driver to draw with.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Wanted {
    /// The best there is.
    #[default]
    Best,
    Vulkan,
    Gl,
}

/// An open device.
#[derive(Debug, Clone)]
pub struct Device {
    pub(super) device: wgpu::Device,
    pub(super) queue: wgpu::Queue,
    pub(super) adapter: wgpu::Adapter,
    info: wgpu::AdapterInfo,
}

/// What is used where there is: timestamps for the benches, and buffers that the
/// processor writes where the device reads them. Everything works without.
const WISHED: wgpu::Features =
    wgpu::Features::TIMESTAMP_QUERY.union(wgpu::Features::MAPPABLE_PRIMARY_BUFFERS);

/// What a bare machine needs, by system.
const INSTALL: &str = "install a driver: Debian/Ubuntu `sudo apt install libvulkan1 mesa-vulkan-drivers libegl1`, \
     Fedora `sudo dnf install vulkan-loader mesa-vulkan-drivers mesa-libEGL`, \
     Windows: the graphics card's driver (Windows 10 or later brings a software one), \
     macOS: 10.13 or later has it built in";

/// The door to the graphics drivers, for windows.
#[derive(Debug)]
pub struct Drivers {
    instance: wgpu::Instance,
}

impl Drivers {
    /// For windows of a display.
    pub fn of_display(display: Box<dyn wgpu::wgt::WgpuHasDisplayHandle>) -> Self {
        let mut desc = wgpu::InstanceDescriptor::new_with_display_handle(display);
        desc.backends = wanted();
        Self {
            instance: wgpu::Instance::new(desc),
        }
    }

    /// A window's surface.
    ///
    /// # Errors
    /// If no driver can draw in it.
    pub fn surface(
        &self,
        window: impl Into<wgpu::SurfaceTarget<'static>>,
    ) -> Outcome<wgpu::Surface<'static>> {
        self.instance.create_surface(window).map_err(|e| {
            let what = format!("nothing on this machine can draw in a window: {e}");
            Fault::ours(what, INSTALL)
        })
    }

    /// The device that draws for a surface, and for others of its display.
    ///
    /// # Errors
    /// As [`Device::open`].
    pub fn device(&self, surface: &wgpu::Surface<'static>) -> Outcome<Device> {
        Device::on(&self.instance, Some(surface))
    }
}

/// `WGPU_BACKEND=gl` and the like, as every program on wgpu has it.
fn wanted() -> wgpu::Backends {
    wgpu::Backends::from_env().unwrap_or(wgpu::Backends::all())
}

impl Device {
    /// Opens a device without a window.
    ///
    /// # Errors
    /// One sentence on what to install if no driver is found.
    pub fn open(which: Wanted) -> Outcome<Self> {
        let mut desc = wgpu::InstanceDescriptor::new_without_display_handle();
        desc.backends = match which {
            Wanted::Best => wanted(),
            Wanted::Vulkan => wgpu::Backends::VULKAN,
            Wanted::Gl => wgpu::Backends::GL,
        };
        Self::on(&wgpu::Instance::new(desc), None)
    }

    fn on(instance: &wgpu::Instance, surface: Option<&wgpu::Surface<'static>>) -> Outcome<Self> {
        let options = wgpu::RequestAdapterOptions {
            power_preference: wgpu::PowerPreference::HighPerformance,
            compatible_surface: surface,
            ..Default::default()
        };
        let adapter = pollster::block_on(instance.request_adapter(&options))
            .map_err(|_| Fault::ours("no graphics driver was found", INSTALL))?;
        let info = adapter.get_info();
        let compute = wgpu::DownlevelFlags::COMPUTE_SHADERS;
        if !adapter.get_downlevel_capabilities().flags.contains(compute) {
            return Err(Fault::ours(
                format!(
                    "the driver of the graphics card {} is too old for Ghostchalk",
                    info.name
                ),
                INSTALL,
            ));
        }
        let desc = wgpu::DeviceDescriptor {
            label: Some("ghostchalk"),
            required_features: adapter.features() & WISHED,
            required_limits: adapter.limits(),
            ..Default::default()
        };
        let (device, queue) = pollster::block_on(adapter.request_device(&desc)).map_err(|e| {
            Fault::ours(
                format!("the graphics card {} would not start: {e}", info.name),
                "close other programs that use it, or restart the machine",
            )
        })?;
        Ok(Self {
            device,
            queue,
            adapter,
            info,
        })
    }

    /// The device and its queue, for whoever draws other things with them.
    pub fn gpu(&self) -> (&wgpu::Device, &wgpu::Queue) {
        (&self.device, &self.queue)
    }

    /// The device's name and driver, for reports.
    pub fn name(&self) -> String {
        format!("{} ({:?})", self.info.name, self.info.backend)
    }

    /// The driver and its version, as it names itself; empty where it does not.
    pub fn driver(&self) -> String {
        let words = [&self.info.driver, &self.info.driver_info].map(|w| w.trim());
        let said: Vec<&str> = words.into_iter().filter(|w| !w.is_empty()).collect();
        said.join(", ")
    }

    /// Whether this is a software stand-in.
    pub fn is_software(&self) -> bool {
        self.info.device_type == wgpu::DeviceType::Cpu
    }

    /// Whether all that was handed over is done; does not wait.
    pub fn is_idle(&self) -> Outcome<bool> {
        self.poll(wgpu::PollType::Poll)
            .map(|status| status.is_queue_empty())
    }

    /// Waits until all that was handed over is done.
    pub fn wait(&self) -> Outcome<()> {
        self.poll(wgpu::PollType::wait_indefinitely()).map(|_| ())
    }

    fn poll(&self, how: wgpu::PollType) -> Outcome<wgpu::PollStatus> {
        self.device.poll(how).map_err(|e| {
            Fault::ours(
                format!("the graphics card stopped answering: {e}"),
                "start again; if it stays so, update the driver of the graphics card",
            )
        })
    }
}
