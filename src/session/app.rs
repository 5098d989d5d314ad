//! The event loop: windows and outputs come and go; what the hand does goes to
//! the table, and from there to the light.

use super::Wake;
use super::awake::Awake;
use super::beamer::{Beamer, open_window};
use super::lost::{Devices, let_go};
use super::outputs;
use super::outputs::Output;
use super::page::PageCanvas;
use super::panel;
use super::panel_window::{Frame, PanelWindow};
use super::photographed::Photographed;
use super::seeking::Seeking;
use super::setter::Setter;
use super::sofa::Sofa;
use super::switches::Hearing;
use super::table::LiveTable;
use crate::calibration::Profile;
use crate::fault::{Fault, Outcome};
use crate::job::open_session;
use crate::job::read_profile;
use crate::light::setting::say;
use crate::projection::Upright;
use crate::render::{Device, Drivers};
use crate::work::Said;
use std::path::PathBuf;
use std::sync::Arc;
use std::time::{Duration, Instant};
use winit::dpi::LogicalSize;
use winit::event_loop::{ActiveEventLoop, EventLoop, EventLoopProxy};
use winit::keyboard::ModifiersState;
use winit::window::Window;

/// What the person said on the command line.
#[derive(Debug, Clone)]
pub struct Options {
    pub job: PathBuf,
    /// The simulated table behind the light.
    pub rehearse: bool,
    /// Another profile than the job's.
    pub profile: Option<PathBuf>,
    /// The projector's output, by name.
    pub output: Option<String>,
}

/// While something is dragged the panel is painted this often.
pub(super) const PANEL_EVERY: Duration = Duration::from_millis(60);

/// How long a piece flashes, seconds, and how long each flash is.
pub(super) const FLASHES: (f64, f64) = (1.8, 0.3);

/// What can be done about a profile that may not be this table's.
const DOUBT: &str = "Enter: light it all the same. Esc: set the table anew.";

/// What can be done about one that can't be used.
const UNUSABLE: &str = "Enter: set the table anew. Or close the windows, and put the profile right \
                        first.";

/// Degrees to a notch of the wheel: as it is, with Shift, with Ctrl.
pub(super) const WHEEL: [f64; 3] = [5.0, 1.0, 0.1];

/// The panel's window as it opens, desktop points.
const PANEL: (f64, f64) = (1180.0, 820.0);

/// Opens the windows and stays until they are closed.
///
/// # Errors
/// If the job or a profile named in `options` can't be read, or no window can be opened.
pub fn run(options: Options) -> Outcome<()> {
    let memory = open_session(&options.job)?;
    let named = options.profile.as_deref().map(read_profile);
    let profile = match named {
        Some(read) => read.map(Some),
        None => memory.job.profile(),
    };
    let usable = profile.and_then(|profile| {
        profile.iter().try_for_each(|p| p.mapping().map(drop))?;
        Ok(profile)
    });
    // Were it refused with the job that names it, its table could not be set anew.
    let (profile, unusable) = match (usable, &options.profile) {
        (Ok(profile), _) => (profile, None),
        (Err(why), Some(_)) => return Err(why),
        (Err(why), None) => (None, Some(why)),
    };
    let event_loop = EventLoop::<Wake>::with_user_event().build().map_err(|e| {
        Fault::ours(
            format!("there is no desktop to open windows on ({e})"),
            "start it from a terminal on the desktop itself, not over a network (DISPLAY or WAYLAND_DISPLAY must be set)",
        )
    })?;
    let mut table = LiveTable::new(memory);
    let proxy = event_loop.create_proxy();
    let tell = proxy.clone();
    table.wake_with(move || {
        let _ = tell.send_event(Wake::Journal);
    });
    let tell = proxy.clone();
    outputs::watch(move |found| {
        let _ = tell.send_event(Wake::Outputs(found));
    });
    let mut app = App {
        sofa: options.rehearse.then(Sofa::new),
        profile_at: options.profile.clone().or_else(|| job_profile(&table)),
        options,
        proxy,
        table,
        profile,
        unusable,
        mode: Mode::Table,
        live: None,
        outputs: Vec::new(),
        begun: Instant::now(),
        held: ModifiersState::default(),
        pointed: None,
        moved_at: None,
        frame_ms: None,
        panel_memory: panel::PanelMemory::default(),
        ask_memory: panel::AskMemory::default(),
        inches: false,
        panel_due: None,
        keys_to_panel: false,
        focus: [None, None],
        flash: None,
        lost: false,
        devices: Devices::default(),
        hearing: Hearing::default(),
        failed: None,
        seeking: None,
        photo: None,
        photos: 0,
    };
    event_loop.run_app(&mut app).map_err(|e| {
        Fault::ours(
            format!("the desktop broke off: {e}"),
            "start Ghostchalk again: all that was done is kept",
        )
    })?;
    // The windows go before the journal is closed.
    app.live = None;
    let closed = app.table.close();
    app.failed.map_or(closed, Err)
}

/// What the projector is used for now.
pub(super) enum Mode {
    /// The profile may not be this table's, or can't be used: nothing is lit before it is said.
    Doubt(Box<PageCanvas>),
    Setting(Box<Setter>),
    Table,
}

/// What is open.
pub(super) struct Live {
    pub(super) device: Device,
    pub(super) beamer: Beamer,
    pub(super) panel: PanelWindow,
    _awake: Awake,
}

pub(super) struct App {
    pub(super) options: Options,
    pub(super) proxy: EventLoopProxy<Wake>,
    pub(super) table: LiveTable,
    pub(super) profile: Option<Profile>,
    /// Why the profile that the job names can't be used, if so: there is none then.
    unusable: Option<Fault>,
    /// Where it is kept, if it is.
    pub(super) profile_at: Option<PathBuf>,
    pub(super) sofa: Option<Sofa>,
    pub(super) mode: Mode,
    pub(super) live: Option<Live>,
    pub(super) outputs: Vec<Output>,
    pub(super) begun: Instant,
    pub(super) held: ModifiersState,
    /// Where the mouse is in the projector's window, not yet answered, and when
    /// it came there.
    pub(super) pointed: Option<[f64; 2]>,
    pub(super) moved_at: Option<Instant>,
    /// From the last movement to its light, milliseconds.
    pub(super) frame_ms: Option<f64>,
    pub(super) panel_memory: panel::PanelMemory,
    pub(super) ask_memory: panel::AskMemory,
    /// Lengths are said in inches.
    pub(super) inches: bool,
    pub(super) panel_due: Option<Instant>,
    pub(super) keys_to_panel: bool,
    /// Whether the projector's and the panel's window have the keyboard.
    /// `None`: it never had.
    pub(super) focus: [Option<bool>; 2],
    /// When the flash began, seconds.
    pub(super) flash: Option<f64>,
    /// The projector's output was here, and is gone.
    pub(super) lost: bool,
    pub(super) devices: Devices,
    pub(super) hearing: Hearing,
    pub(super) failed: Option<Fault>,
    pub(super) seeking: Option<Seeking>,
    /// The photo on the panel, and how many there were.
    pub(super) photo: Option<Photographed>,
    pub(super) photos: u64,
}

impl App {
    /// Keys go to another program's window: one of ours had the keyboard once, and
    /// none has it now.
    pub(super) fn keyboard_is_elsewhere(&self) -> bool {
        self.focus.contains(&Some(false)) && !self.focus.contains(&Some(true))
    }

    pub(super) fn now(&self) -> f64 {
        self.begun.elapsed().as_secs_f64()
    }

    /// Opens windows and device, or opens the device anew for windows that stand.
    pub(super) fn open(&mut self, event_loop: &ActiveEventLoop) -> Outcome<()> {
        if self.outputs.is_empty() {
            self.outputs = outputs::known(event_loop);
        }
        let output = self.projector_output().cloned();
        let stood = self.live.take();
        let first = stood.is_none();
        let (window, frame) = match stood {
            Some(Live { beamer, panel, .. }) => {
                let window = Arc::clone(&beamer.window);
                let_go(beamer);
                (window, panel.give_up())
            }
            None => {
                let panel = open_panel(event_loop)?;
                let frame = Frame::new(panel, event_loop, self.proxy.clone());
                (open_window(event_loop, output.as_ref())?, frame)
            }
        };
        let drivers = Drivers::of_display(Box::new(event_loop.owned_display_handle()));
        let surface = drivers.surface(Arc::clone(&window))?;
        let device = drivers.device(&surface)?;
        self.devices.watch(&device, &self.proxy);
        let beamer = Beamer::new(&device, surface, window, output)?;
        let panel = PanelWindow::new(&drivers, &device, frame)?;
        self.live = Some(Live {
            device,
            beamer,
            panel,
            _awake: Awake::begin(),
        });
        self.table.bench.first_light(self.now());
        self.light_up()?;
        match outputs::missing(&self.outputs, self.options.output.as_deref()) {
            Some(words) if first && self.sofa.is_none() => self.tell_where_seen(words),
            _ => Ok(()),
        }
    }

    /// A warning, said where the person looks first.
    pub(super) fn tell_where_seen(&mut self, words: String) -> Outcome<()> {
        if let Mode::Setting(setter) = &mut self.mode {
            setter.said = Some(Said {
                words,
                warning: true,
            });
            self.redraw_all();
            return Ok(());
        }
        self.warn(words)
    }

    /// The output that the projector is on: the one asked for, or the one that
    /// the profile was made on. A simulated table wants none.
    pub(super) fn projector_output(&self) -> Option<&Output> {
        if self.sofa.is_some() {
            return None;
        }
        let remembered = self.profile.as_ref().and_then(|p| p.output.as_deref());
        let wanted = self.options.output.as_deref();
        match wanted {
            Some(_) => outputs::chosen(&self.outputs, wanted),
            None => outputs::chosen(&self.outputs, remembered)
                .filter(|_| remembered.is_some())
                .or_else(|| outputs::chosen(&self.outputs, None)),
        }
    }

    /// The picture that the projector is sent, px.
    pub(super) fn picture(&self) -> [u32; 2] {
        if let Some(sofa) = &self.sofa {
            return sofa.picture();
        }
        let on_output = self.live.as_ref().and_then(|l| l.beamer.output.as_ref());
        match (on_output, &self.profile, &self.live) {
            (Some(o), _, _) => o.size,
            (None, Some(p), _) => p.projector_px,
            (None, None, Some(l)) => l.beamer.screen.size(),
            (None, None, None) => [1920, 1080],
        }
    }

    /// Lights the table as far as it is set, or says what stands against it.
    pub(super) fn light_up(&mut self) -> Outcome<()> {
        if self.sofa.is_some() && self.profile.is_none() {
            self.profile = self.sofa.as_ref().map(Sofa::profile).transpose()?;
        }
        let picture = self.picture();
        if let Mode::Setting(setter) = &mut self.mode {
            if let Some(live) = &mut self.live {
                setter.show(&live.device, &mut live.beamer)?;
            }
            return self.behind();
        }
        let Some(profile) = self.profile.clone() else {
            return match &self.unusable {
                Some(why) if self.live.is_some() => {
                    let why = why.to_string();
                    self.doubt(&[why.as_str(), UNUSABLE], false)
                }
                _ => self.begin_setting(),
            };
        };
        let output = self.live.as_ref().and_then(|l| l.beamer.output.as_ref());
        let accepted = matches!(self.mode, Mode::Table) && self.table.canvas().is_some();
        let doubt = output
            .and_then(|o| profile.fits(&o.name, picture))
            .filter(|_| !accepted || profile.projector_px != picture);
        if let (Some(why), true) = (doubt, self.live.is_some()) {
            return self.doubt(&[why.as_str(), DOUBT], profile.mirror_rig);
        }
        self.mode = Mode::Table;
        self.set_table(&profile)
    }

    /// Lights what stands against the profile, and what can be done about it.
    fn doubt(&mut self, lines: &[&str], mirror_rig: bool) -> Outcome<()> {
        let picture = self.picture();
        if let Some(live) = &mut self.live {
            self.table.unset();
            let mut page = PageCanvas::new(&live.device, picture)?;
            let on = Upright::new(picture, self.table.bench.ways().stands, mirror_rig);
            page.put(&say(lines, &on)?, &mut live.beamer);
            self.mode = Mode::Doubt(Box::new(page));
            self.redraw_all();
        }
        Ok(())
    }

    pub(super) fn set_table(&mut self, profile: &Profile) -> Outcome<()> {
        if let Some(live) = &mut self.live {
            live.beamer.screen.set_page(None);
            self.table.set_by(self.profile_at.as_deref());
            if let Err(fault) = self.table.set(&live.device, profile) {
                // The profile is usable, the lay is not: say so, keep working.
                self.table.notes.push(fault.to_string());
            }
        }
        self.behind()?;
        self.redraw_all();
        Ok(())
    }

    /// The simulated table, where there is one.
    pub(super) fn behind(&mut self) -> Outcome<()> {
        if let (Some(sofa), Some(live)) = (&self.sofa, &mut self.live) {
            sofa.show(self.table.job(), &self.table.bench, &mut live.beamer.screen)?;
        }
        Ok(())
    }
}

/// The file of the profile that the job names.
pub(super) fn job_profile(table: &LiveTable) -> Option<PathBuf> {
    let job = table.job();
    Some(job.folder.join(job.file.profile.as_ref()?))
}

/// Opens the panel's window.
fn open_panel(event_loop: &ActiveEventLoop) -> Outcome<Arc<Window>> {
    let least = panel::LEAST;
    let wanted = Window::default_attributes()
        .with_title("Ghostchalk")
        // Shown once assistive technology can see it.
        .with_visible(false)
        .with_inner_size(LogicalSize::new(PANEL.0, PANEL.1))
        .with_min_inner_size(LogicalSize::new(least[0], least[1]));
    let window = event_loop.create_window(wanted).map_err(|e| {
        Fault::ours(
            format!("the desktop would not open a window: {e}"),
            "start it from a desktop, not from a text console",
        )
    })?;
    Ok(Arc::new(window))
}
