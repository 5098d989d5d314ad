// Exact area coverage of polygons by signed edge sums, in integers.
//
// An edge covers, in each pixel row it crosses, everything to its right: the
// pixel it passes through in part, the pixels beyond in full. Two numbers per
// pixel and edge (what changes here, what changes from the next pixel on)
// summed along the row give the covered area. Sums are i32 and every split of
// an edge telescopes, so pixels wholly inside or outside come out exactly, in
// any order of execution.
//
// Lengths are 1/65536 px (Q16); brightness is in 255ths of white; a fully
// lit pixel is 255 × 65536.

struct Job {
    // The rectangle to draw: left, top, right, bottom, in px.
    rect: vec4<i32>,
    // Picture width in px and in tiles; number of edges; pixels to a lane of the
    // second pass: a power of two up to a tile, or whole tiles.
    size: vec4<i32>,
    // First: the invocations that share an edge, as a power of two along its
    // rows, and the same along its columns.
    share: vec4<i32>,
}

struct Edge {
    // From and to, Q16 px.
    ax: i32,
    ay: i32,
    bx: i32,
    by: i32,
    level: i32,
}

@group(0) @binding(0) var<uniform> job: Job;
@group(0) @binding(1) var<storage, read> edges: array<Edge>;
@group(1) @binding(0) var<storage, read_write> sums: array<atomic<i32>>;
// One for every tile of 32 pixels in a row: whether an edge touched it. What is
// not touched is as bright as what lies to its left, and is mostly dark.
@group(1) @binding(1) var<storage, read_write> touched: array<atomic<u32>>;

fn add(row: i32, column: i32, value: i32) {
    if (value != 0 && column < job.rect.z) {
        atomicAdd(&sums[row * job.size.x + column], value);
        atomicStore(&touched[row * job.size.y + (column >> 5u)], 1u);
    }
}

// A slanted piece of an edge within one pixel row: from height `y0` to `y1`
// there, entering at x0 and leaving at x1, all Q16. `light` is ± the level.
struct Span {
    x0: i32,
    y0: i32,
    x1: i32,
    y1: i32,
    light: i32,
}

// The height at which a span reaches `x`. It grows along the span, however f32
// rounds, so that anyone can tell where the column before ended.
fn height_at(s: Span, slope: f32, x: i32) -> i32 {
    return min(s.y0 + i32(round(slope * f32(abs(x - s.x0)))), s.y1);
}

// Adds a span's columns from the `first` on in its direction of travel, each
// `stride`th.
fn add_span(row: i32, s: Span, first: i32, stride: i32) {
    let left = min(s.x0, s.x1);
    let right = max(s.x0, s.x1);
    if ((right >> 16u) < job.rect.x) {
        if (first == 0) {
            add(row, job.rect.x, (s.y1 - s.y0) * s.light);
        }
        return;
    }
    let forth = s.x1 >= s.x0;
    let step = select(-1, 1, forth);
    let slope = f32(s.y1 - s.y0) / f32(max(right - left, 1));
    let start = s.x0 >> 16u;
    let last = abs((s.x1 >> 16u) - start);
    // Where the column is entered: `done` is the height given out before it, so
    // that the parts sum to the whole.
    var at = s.x0;
    var done = s.y0;
    for (var n = first; n <= last; n += stride) {
        let column = start + n * step;
        let sides = vec2<i32>(column << 16u, (column + 1) << 16u);
        if (stride > 1 && n > 0) {
            at = select(sides.y, sides.x, forth);
            done = height_at(s, slope, at);
        }
        var to = s.x1;
        var height = s.y1;
        if (n < last) {
            to = select(sides.x, sides.y, forth);
            height = height_at(s, slope, to);
        }
        let whole = (height - done) * s.light;
        if (column < job.rect.x) {
            add(row, job.rect.x, whole);
        } else {
            // Twice the mean distance from the pixel's left side, 0 to 2 px.
            let mean = (at - sides.x) + (to - sides.x);
            let beyond = i32(round(f32(whole) * (f32(mean) / 131072.0)));
            add(row, column, whole - beyond);
            add(row, column + 1, beyond);
        }
        at = to;
        done = height;
    }
}

// How many workgroups stand in one row of the dispatch.
const ROW_OF_GROUPS: u32 = 32768u;

@compute @workgroup_size(64)
fn scatter(@builtin(global_invocation_id) id: vec3<u32>) {
    let share = u32(job.share.x);
    let lane = id.x + id.y * ROW_OF_GROUPS * 64u;
    let k = i32(lane >> (2u * share));
    if (k >= job.size.z) {
        return;
    }
    let stride = 1 << share;
    let down = i32(lane >> share) & (stride - 1);
    let along = i32(lane) & (stride - 1);
    let edge = edges[k];
    var a = vec2<i32>(edge.ax, edge.ay);
    var b = vec2<i32>(edge.bx, edge.by);
    var light = edge.level;
    if (a.y == b.y) {
        return;
    }
    if (a.y > b.y) {
        a = b;
        b = vec2<i32>(edge.ax, edge.ay);
        light = -light;
    }
    let run = f32(b.x - a.x) / f32(b.y - a.y);
    let top = max(a.y >> 16u, job.rect.y);
    let bottom = min((b.y - 1) >> 16u, job.rect.w - 1);
    for (var row = top + down; row <= bottom; row += stride) {
        let y0 = max(a.y, row << 16u);
        let y1 = min(b.y, (row + 1) << 16u);
        // Measured from the nearer end, so that f32 keeps its digits and the
        // ends are met.
        var x0 = a.x + i32(round(run * f32(y0 - a.y)));
        var x1 = b.x - i32(round(run * f32(b.y - y1)));
        if (y0 - a.y > b.y - y0) {
            x0 = b.x - i32(round(run * f32(b.y - y0)));
        }
        if (y1 - a.y < b.y - y1) {
            x1 = a.x + i32(round(run * f32(y1 - a.y)));
        }
        add_span(row, Span(x0, y0, x1, y1, light), along, stride);
    }
}

// ---- sums along the rows, encoded to sRGB once -----------------------------

// The same buffers, for a pass in which nobody else writes to them: plain, so
// that they go through the caches.
@group(1) @binding(0) var<storage, read_write> totals: array<i32>;
@group(1) @binding(1) var<storage, read_write> marked: array<u32>;
@group(1) @binding(2) var<storage, read> thresholds: array<i32, 256>;
@group(1) @binding(3) var picture: texture_storage_2d<rgba8unorm, write>;
// Which pixels of a tile are lit in the picture as it stands, a bit each.
@group(1) @binding(4) var<storage, read_write> lit: array<atomic<u32>>;

// Lanes in a workgroup: 64 or 256.
override LANES: u32;

// What each lane's pixels change, and each squad's of sixteen lanes.
var<workgroup> lane_sums: array<i32, LANES>;
var<workgroup> squad_sums: array<i32, LANES / 16u>;

// The sRGB code of a brightness: the last whose threshold it reaches.
fn encode(light: i32) -> i32 {
    if (light < thresholds[1]) {
        return 0;
    }
    if (light >= thresholds[255]) {
        return 255;
    }
    var low = 1;
    var high = 255;
    while (high - low > 1) {
        let middle = (low + high) >> 1u;
        if (light >= thresholds[middle]) {
            low = middle;
        } else {
            high = middle;
        }
    }
    return low;
}

fn show(x: i32, row: i32, code: i32) {
    let grey = f32(code) / 255.0;
    textureStore(picture, vec2<i32>(x, row), vec4<f32>(grey, grey, grey, 1.0));
}

// The pixels from `start` that one lane takes in one tile: `count` bits.
fn bits(start: i32, count: i32) -> u32 {
    let ones = select((1u << u32(count)) - 1u, 0xffffffffu, count == 32);
    return ones << u32(start & 31);
}

// One workgroup a row; each lane takes a run of neighbouring pixels. The
// rectangle's sides lie on tile borders (or the picture's), and a run within a
// tile or on whole tiles, so that a lane meets tiles one after another.
@compute @workgroup_size(LANES)
fn gather(
    @builtin(workgroup_id) group: vec3<u32>,
    @builtin(local_invocation_id) local: vec3<u32>,
) {
    let row = job.rect.y + i32(group.x);
    let lane = i32(local.x);
    let base = row * job.size.x;
    let tiles = row * job.size.y;
    let run = job.size.w;
    let step = min(run, 32);
    let start = min(job.rect.x + lane * run, job.rect.z);
    let end = min(start + run, job.rect.z);
    var total = 0;
    for (var left = start; left < end; left += step) {
        if (marked[tiles + (left >> 5u)] != 0u) {
            let to = min(left + step, end);
            for (var x = left; x < to; x++) {
                total += totals[base + x];
            }
        }
    }
    lane_sums[lane] = total;
    workgroupBarrier();
    let squad = lane >> 4u;
    var light = 0;
    for (var before = squad << 4u; before < lane; before++) {
        light += lane_sums[before];
    }
    if ((lane & 15) == 15) {
        squad_sums[squad] = light + total;
    }
    workgroupBarrier();
    for (var before = 0; before < squad; before++) {
        light += squad_sums[before];
    }
    for (var left = start; left < end; left += step) {
        let tile = tiles + (left >> 5u);
        let to = min(left + step, end);
        let ours = bits(left, to - left);
        // Nobody else sets or clears these bits.
        let was = atomicLoad(&lit[tile]) & ours;
        var on = 0u;
        if (marked[tile] != 0u) {
            for (var x = left; x < to; x++) {
                let change = totals[base + x];
                if (change != 0) {
                    // Zero again for the next frame.
                    totals[base + x] = 0;
                    light += change;
                }
                let code = encode(light);
                on |= u32(code != 0) << u32(x & 31);
                show(x, row, code);
            }
        } else {
            let code = encode(light);
            on = select(0u, ours, code != 0);
            if ((on | was) != 0u) {
                for (var x = left; x < to; x++) {
                    show(x, row, code);
                }
            }
        }
        if ((was & ~on) != 0u) {
            atomicAnd(&lit[tile], ~(was & ~on));
        }
        if ((on & ~was) != 0u) {
            atomicOr(&lit[tile], on);
        }
    }
    // Only now has every lane read the marks.
    workgroupBarrier();
    for (var left = start; left < end; left += step) {
        marked[tiles + (left >> 5u)] = 0u;
    }
}
