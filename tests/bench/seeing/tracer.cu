// A path tracer for drawn rooms (`rooms`, `lights`), for a GPU (nvcc) or, slower, a processor (g++ -x c++ -fopenmp).
//
// One room is a `Scene`, floats only, packed by `traced.packed`. Metres, z up, colours linear light. Each pixel gets
// `samples` paths of up to four surfaces; at each a lamp or window is sampled (Kajiya, The rendering equation, 1986).
// With `grain` every pixel draws numbers of its own, else all share them: no grain, soft shadows in steps.
// Textures follow `caster`, whose rays, corners and truth hold here too: the outline is the foot of the skirting's
// face, and the plaster stands back from it by the skirting's thickness.
#include <cmath>
#include <cstdint>
#ifdef __CUDACC__
#define FN __host__ __device__ __forceinline__
#else
#define FN static inline
#endif

enum { WALLS = 14, DECALS = 18, BOXES = 22, TINS = 3, RUGS = 5, LAMPS = 6 };
enum { FLOOR, SKIRTING, WALL, OTHER };

struct Scene {
    float walls_n, boxes_n, decals_n, rugs_n, tins_n, lamps_n, grain, seed;
    float walls[WALLS][4], back[WALLS][2], hollow[WALLS][2], paint[WALLS][3], paper[4], skirting[5], board[3], ceiling;
    float floor[16], decals[DECALS][10], boxes[BOXES][12], tins[TINS][8], rugs[RUGS][14], beyond[7];
    float lamps[LAMPS][14], ambient[3], sun[12], eye[3], rotation[9], lens[2];
};

struct V { float x, y, z; };
FN V operator+(V a, V b) { return {a.x + b.x, a.y + b.y, a.z + b.z}; }
FN V operator-(V a, V b) { return {a.x - b.x, a.y - b.y, a.z - b.z}; }
FN V operator*(V a, V b) { return {a.x * b.x, a.y * b.y, a.z * b.z}; }
FN V operator*(V a, float s) { return {a.x * s, a.y * s, a.z * s}; }
FN float dot(V a, V b) { return a.x * b.x + a.y * b.y + a.z * b.z; }
FN V cross(V a, V b) { return {a.y * b.z - a.z * b.y, a.z * b.x - a.x * b.z, a.x * b.y - a.y * b.x}; }
FN V unit(V a) { return a * (1.0f / sqrtf(fmaxf(dot(a, a), 1e-20f))); }
FN V v3(const float *p) { return {p[0], p[1], p[2]}; }
FN float clampf(float x, float a, float b) { return fminf(fmaxf(x, a), b); }

struct Hit { float t; V n, albedo, glow; int kind; float gloss; };

FN float hashed(float a, float b, float seed) {
    float t = sinf(a * 12.9898f + b * 78.233f + seed * 3.717f) * 4375.85f;
    return t - floorf(t);
}
FN float noise(float x, float y, float seed) {
    float ix = floorf(x), iy = floorf(y), fx = x - ix, fy = y - iy;
    fx = fx * fx * (3 - 2 * fx); fy = fy * fy * (3 - 2 * fy);
    float low = hashed(ix, iy, seed) * (1 - fx) + hashed(ix + 1, iy, seed) * fx;
    float high = hashed(ix, iy + 1, seed) * (1 - fx) + hashed(ix + 1, iy + 1, seed) * fx;
    return low * (1 - fy) + high * fy;
}
FN uint32_t mixed(uint32_t v) {
    v = v * 747796405u + 2891336453u;
    uint32_t w = ((v >> ((v >> 28) + 4)) ^ v) * 277803737u;
    return (w >> 22) ^ w;
}
// Number `dim` of path `i` of `count` (a power of two): one in each of `count` strata, in an order of its own.
struct Numbers { uint32_t start; int i, count, dim; };
FN float next(Numbers &r) {
    uint32_t own = mixed(r.start ^ mixed(0x9e3779b9u * (uint32_t)(++r.dim))), w = r.count - 1, i = r.i;
    for (int k = 0; k < 3; k++) {  // after Kensler, Correlated multi-jittered sampling, 2013
        i = (i ^ own) & w;
        i = (i * ((own >> 8) | 1u)) & w;
        i = (i ^ (i >> 1)) & w;
        own = mixed(own + k);
    }
    float jitter = (mixed(own ^ mixed(r.i + 77u)) >> 8) * (1.0f / 16777216.0f);
    return (i + jitter) / r.count;
}

FN float box_at(const float *b, V e, V d, int *axis) {
    float px = e.x - b[0], py = e.y - b[1];
    float o[3] = {px * b[6] + py * b[7], py * b[6] - px * b[7], e.z - b[2]};
    float w[3] = {d.x * b[6] + d.y * b[7], d.y * b[6] - d.x * b[7], d.z};
    float near = -1e9f, far = 1e9f; int which = 0;
    for (int j = 0; j < 3; j++) {
        float v = fabsf(w[j]) < 1e-7f ? 1e-7f : w[j];
        float mid = -o[j] / v, reach = b[3 + j] / fabsf(v);
        if (mid - reach > near) { near = mid - reach; which = j; }
        far = fminf(far, mid + reach);
    }
    *axis = which;
    return near < far && near > 1e-4f ? near : 1e9f;
}
FN float tin_at(const float *r, V e, V d, bool *top) {
    float px = e.x - r[0], py = e.y - r[1];
    float a = d.x * d.x + d.y * d.y + 1e-9f, b = px * d.x + py * d.y, c = px * px + py * py - r[2] * r[2];
    float root = b * b - a * c, best = 1e9f;
    *top = false;
    if (root > 0) {
        float t = (-b - sqrtf(root)) / a, z = e.z + t * d.z;
        if (t > 1e-4f && z >= r[3] && z <= r[4]) best = t;
    }
    if (d.z < -1e-7f) {
        float t = (r[4] - e.z) / d.z, x = px + t * d.x, y = py + t * d.y;
        if (t > 1e-4f && t < best && x * x + y * y < r[2] * r[2]) { best = t; *top = true; }
    }
    return best;
}
FN float lamp_at(const float *l, V e, V d) {
    if (l[0] < 0.5f) {
        V o = e - v3(l + 1);
        float a = dot(d, d), b = dot(o, d), c = dot(o, o) - l[4] * l[4], root = b * b - a * c;
        if (root <= 0) return 1e9f;
        float t = (-b - sqrtf(root)) / a;
        return t > 1e-3f ? t : 1e9f;
    }
    V u = v3(l + 4), v = v3(l + 7), n = cross(u, v), o = v3(l + 1) - e;
    float den = dot(d, n);
    if (den > -1e-9f) return 1e9f;
    float t = dot(o, n) / den;
    V p = d * t - o;
    return t > 1e-3f && fabsf(dot(p, u)) <= dot(u, u) && fabsf(dot(p, v)) <= dot(v, v) ? t : 1e9f;
}

// Walls: the skirting's face, its top, the plaster. part: 0 plaster, 1 face, 2 top.
FN float walls_at(const Scene &s, V e, V d, float most, int *wall, float *along, int *part) {
    float best = most, high = s.skirting[0], thick = s.skirting[1];
    int n = (int)s.walls_n;
    for (int k = 0; k < n; k++) {
        const float *w = s.walls[k];
        float wx = w[2] - w[0], wy = w[3] - w[1], den = d.x * wy - d.y * wx;
        if (fabsf(den) < 1e-9f) den = 1e-9f;
        float size = sqrtf(wx * wx + wy * wy), ox = w[0] - e.x, oy = w[1] - e.y;
        if (den > 0) {
            float t = (ox * wy - oy * wx) / den, z = e.z + t * d.z;
            if (t > 1e-4f && t < best && z < high && z > -0.01f) {
                float q = (ox * d.y - oy * d.x) / den;
                if (q >= 0 && q <= 1) {
                    bool gap = false;
                    for (int j = 0; j < (int)s.decals_n; j++) {
                        const float *g = s.decals[j];
                        if ((int)g[0] == k && g[9] > 0.5f && q * size > g[1] && q * size < g[2] && g[2] - g[1] > 0.15f)
                            gap = true;
                    }
                    if (!gap) { best = t; *wall = k; *along = q * size; *part = 1; }
                }
            }
            const float *a = s.back[k], *b = s.back[k + 1 < n ? k + 1 : 0];
            float bx = b[0] - a[0], by = b[1] - a[1], ax = a[0] - e.x, ay = a[1] - e.y;
            float det = d.x * by - d.y * bx;
            if (det > 1e-9f) {
                float u = (ax * by - ay * bx) / det, r = (ax * d.y - ay * d.x) / det;
                if (u > 1e-4f && u < best && r >= 0 && r <= 1) {
                    best = u; *wall = k; *part = 0;
                    *along = ((e.x + u * d.x - w[0]) * wx + (e.y + u * d.y - w[1]) * wy) / size;
                }
            }
        }
        if (d.z < -1e-7f && e.z > high && high > 0.005f) {
            float t = (high - e.z) / d.z;
            if (t > 1e-4f && t < best) {
                float px = e.x + t * d.x - w[0], py = e.y + t * d.y - w[1];
                float out = (px * wy - py * wx) / size, q = (px * wx + py * wy) / size;
                if (out >= 0 && out <= thick && q > -thick && q < size + thick) {
                    bool gap = false;
                    for (int j = 0; j < (int)s.decals_n; j++) {
                        const float *g = s.decals[j];
                        if ((int)g[0] == k && g[9] > 0.5f && q > g[1] && q < g[2]) gap = true;
                    }
                    if (!gap) { best = t; *wall = k; *along = q; *part = 2; }
                }
            }
        }
    }
    return best;
}

FN V floor_colour(const Scene &s, float x, float y) {
    const float *f = s.floor, *w = s.walls[0];
    float ux = f[3], uy = f[4];
    if (f[3] > 1.5f) {
        float fx = w[2] - w[0], fy = w[3] - w[1], size = sqrtf(fx * fx + fy * fy);
        ux = fx / size; uy = fy / size;
    }
    float a = x * ux + y * uy + 50.0f, b = y * ux - x * uy + 50.0f, seed = f[15];
    float row = floorf(b / f[5]), start = hashed(row, 0, seed) * f[6] * (1 - f[13]);
    float cell = floorf((a + start) / f[6]);
    float near = fminf(b - row * f[5], (row + 1) * f[5] - b);
    float end = fminf(a + start - cell * f[6], (cell + 1) * f[6] - a - start);
    float tone = 1 + f[9] * 2 * (hashed(row, cell, seed) - 0.5f);
    tone *= 1 - f[10] * noise(a * 4, b * 70 + 13 * row, seed) - 0.5f * f[10] * noise(a * 1.3f, b * 22 + 5 * row, seed);
    tone *= (1 - f[11] * noise(a * 160, b * 160, seed)) * (1 - f[12] * noise(a * 2.3f, b * 2.3f, seed + 3));
    if (fminf(near, end) < f[7] / 2) tone *= f[8];
    V c = v3(f) * tone;
    for (int k = 0; k < (int)s.rugs_n; k++) {
        const float *g = s.rugs[k];
        float p = x - g[0], q = y - g[1], m = (p * g[4] + q * g[5]) / g[2], o = (q * g[4] - p * g[5]) / g[3];
        float far = g[13] > 0.5f ? sqrtf(m * m + o * o) : fmaxf(fabsf(m), fabsf(o));
        if (far < 1) c = sinf(6.2832f * m * g[2] / fmaxf(g[12], 0.01f)) > 0.3f && far < 0.85f ? v3(g + 9) : v3(g + 6);
    }
    return {clampf(c.x, 0.003f, 0.95f), clampf(c.y, 0.003f, 0.95f), clampf(c.z, 0.003f, 0.95f)};
}

FN void wall_look(const Scene &s, int wall, float q, float z, int part, Hit *h) {
    float height = s.skirting[0], bead = s.skirting[2], gap = s.skirting[3], edge = s.skirting[4], phase = s.paper[3];
    h->kind = WALL;
    if (part) {
        float tone = part == 2 ? 1.0f : z < bead ? 0.55f : z < gap ? 0.25f : z > height - 0.012f ? 1 - 0.25f * edge : 1;
        h->albedo = v3(s.board) * tone;
        h->kind = SKIRTING;
    } else {
        float period = s.paper[1], strength = s.paper[2], factor = 1;
        int style = (int)(s.paper[0] + 0.5f);
        if (style == 1) factor = sinf(6.2832f * q / period + phase) > 0 ? 1 : 1 - strength;
        if (style == 2 && sinf(6.2832f * q / period) * sinf(6.2832f * z / period + phase) > 0.4f) factor = 1 - strength;
        if (style == 3) factor = 1 - strength * 0.6f * noise(q / period / 2 + wall * 7, z / period / 2, phase);
        factor *= 1 - 0.03f * noise(q * 3 + wall * 5, z * 3, phase);
        h->albedo = v3(s.paint[wall]) * factor;
    }
    for (int k = 0; k < (int)s.decals_n; k++) {
        const float *r = s.decals[k];
        if ((int)r[0] != wall || q <= r[1] || q >= r[2] || z <= r[3] || z >= r[4] || (part && r[9] < 0.5f)) continue;
        h->kind = WALL;
        bool bar = fabsf(sinf(3.1416f * (q - r[1]) / fmaxf(r[2] - r[1], 0.05f) * 2)) < 0.08f;
        h->glow = {0, 0, 0};
        if (r[8] > 1.5f && !bar) h->glow = v3(r + 5);
        else if (r[8] > 1.5f) h->albedo = {0.8f, 0.8f, 0.8f};
        else h->albedo = {fminf(r[5], 0.95f), fminf(r[6], 0.95f), fminf(r[7], 0.95f)};
        if (r[8] > 0.5f && r[8] < 1.5f) h->kind = OTHER;
    }
}

FN Hit trace(const Scene &s, V e, V d, bool lamps) {
    Hit h = {1e9f, {0, 0, 1}, {0.8f, 0.8f, 0.8f}, {0, 0, 0}, WALL, 0};
    int wall = -1, part = 0, thing = -1, what = 0, axis = 0;
    float along = 0;
    bool top = false;
    float t = walls_at(s, e, d, 1e8f, &wall, &along, &part);
    if (t < 1e8f) what = 1;
    if (d.z < -1e-7f && -e.z / d.z < t) { t = -e.z / d.z; what = 2; }
    if (d.z > 1e-7f && (s.ceiling - e.z) / d.z < t) { t = (s.ceiling - e.z) / d.z; what = 3; }
    for (int k = 0; k < (int)s.boxes_n; k++) {
        int a;
        float u = box_at(s.boxes[k], e, d, &a);
        if (u < t) { t = u; thing = k; axis = a; what = 4; }
    }
    for (int k = 0; k < (int)s.tins_n; k++) {
        bool lid;
        float u = tin_at(s.tins[k], e, d, &lid);
        if (u < t) { t = u; thing = k; top = lid; what = 5; }
    }
    if (lamps)
        for (int k = 0; k < (int)s.lamps_n; k++) {
            float u = lamp_at(s.lamps[k], e, d);
            if (u < t) { t = u; thing = k; what = 6; }
        }
    V p = e + d * t;
    h.t = t;
    if (what == 1) {
        const float *w = s.walls[wall];
        V n = unit({w[1] - w[3], w[2] - w[0], 0});
        h.n = part == 2 ? V{0, 0, 1} : n;
        wall_look(s, wall, along, p.z, part, &h);
        h.gloss = part ? 0.3f : 0.0f;
        if (h.kind == OTHER) {  // an opening: what lies beyond, lit by itself
            float u = t + 1.4f;
            bool floor = d.z < 0 && -e.z / d.z < u;
            h.glow = v3(s.beyond + (floor ? 0 : 3)) * s.beyond[6];
            h.albedo = {0, 0, 0};
            if (floor) h.t = fmaxf(t, -e.z / d.z);
        }
    } else if (what == 2) {
        h.albedo = floor_colour(s, p.x, p.y);
        h.kind = FLOOR;
        h.gloss = s.floor[14];
    } else if (what == 3) {
        h.n = {0, 0, -1};
    } else if (what == 4) {
        const float *b = s.boxes[thing];
        float dx = d.x * b[6] + d.y * b[7], dy = d.y * b[6] - d.x * b[7];
        float sx = dx > 0 ? -1 : 1, sy = dy > 0 ? -1 : 1;
        h.n = axis == 0 ? V{sx * b[6], sx * b[7], 0} : axis == 1 ? V{-sy * b[7], sy * b[6], 0}
                                                                  : V{0, 0, d.z > 0 ? -1.0f : 1.0f};
        float q = (p.x - b[0]) * b[6] + (p.y - b[1]) * b[7], r = (p.y - b[1]) * b[6] - (p.x - b[0]) * b[7];
        float tone = b[11] > 0 ? 0.82f + 0.18f * sinf(6.2832f * b[11] * q) : 1;
        if (b[11] < 0) tone = 1 + b[11] * noise((q + r) * 4 + thing, p.z * 60, s.seed);
        h.albedo = v3(b + 8) * tone;
        h.kind = OTHER;
        h.gloss = 0.2f;
    } else if (what == 5) {
        const float *r = s.tins[thing];
        h.n = top ? V{0, 0, 1} : unit({p.x - r[0], p.y - r[1], 0});
        h.albedo = v3(r + 5);
        h.kind = OTHER;
    } else if (what == 6) {
        h.glow = v3(s.lamps[thing] + 10);
        h.albedo = {0, 0, 0};
        h.kind = OTHER;
    }
    return h;
}

FN bool blocked(const Scene &s, V p, V d, float most) {
    int wall, part, axis;
    float along;
    bool top;
    if (walls_at(s, p, d, most, &wall, &along, &part) < most) return true;
    for (int k = 0; k < (int)s.boxes_n; k++)
        if (box_at(s.boxes[k], p, d, &axis) < most) return true;
    for (int k = 0; k < (int)s.tins_n; k++)
        if (tin_at(s.tins[k], p, d, &top) < most) return true;
    return false;
}

FN V lit(const Scene &s, V p, V n, Numbers &r) {
    V sum = {0, 0, 0};
    int lamps = (int)s.lamps_n;
    float pick = next(r), a = next(r), b = next(r);
    if (lamps) {
        int k = 0;
        float before = 0;
        while (k + 1 < lamps && pick > before + s.lamps[k][13]) before += s.lamps[k++][13];
        const float *l = s.lamps[k];
        V at, m;
        float area;
        if (l[0] < 0.5f) {
            float z = 2 * a - 1, w = sqrtf(fmaxf(0, 1 - z * z));
            m = {w * cosf(6.2832f * b), w * sinf(6.2832f * b), z};
            if (dot(m, p - v3(l + 1)) < 0) m = m * -1.0f;
            at = v3(l + 1) + m * l[4];
            area = 6.2832f * l[4] * l[4];
        } else {
            V u = v3(l + 4), v = v3(l + 7);
            at = v3(l + 1) + u * (2 * a - 1) + v * (2 * b - 1);
            V c = cross(u, v);
            area = 4 * sqrtf(dot(c, c));
            m = unit(c);
        }
        V d = at - p;
        float d2 = fmaxf(dot(d, d), 1e-4f), inv = 1 / sqrtf(d2), one = dot(n, d) * inv, two = -dot(m, d) * inv;
        if (one > 0 && two > 0 && !blocked(s, p, d, 0.995f))
            sum = sum + v3(l + 10) * fminf(one * two * area / (d2 * 3.1416f * fmaxf(l[13], 0.02f)), 40.0f);
    }
    if (s.sun[3] > 0) {
        V d = v3(s.sun);
        float facing = -dot(d, n), ux = s.sun[7], uy = s.sun[8], nx = -uy, ny = ux, den = d.x * nx + d.y * ny;
        float back = ((p.x - s.sun[4]) * nx + (p.y - s.sun[5]) * ny) / (fabsf(den) < 1e-6f ? 1e-6f : den);
        if (facing > 0 && back > 0) {
            V q = p - d * back - v3(s.sun + 4);
            float across = (q.x * ux + q.y * uy) / s.sun[9];
            bool bar = s.sun[11] > 0 && fabsf(sinf(1.5708f * (across + 1) * s.sun[11] / 2)) < 0.09f;
            if (fabsf(across) < 1 && fabsf(q.z) < s.sun[10] && !bar && !blocked(s, p, d * -1.0f, back * 0.98f - 0.03f))
                sum = sum + V{1, 0.92f, 0.8f} * (facing * s.sun[3]);
        }
    }
    return sum;
}

FN V path(const Scene &s, V e, V d, Numbers &r) {
    V light = {0, 0, 0}, through = {1, 1, 1};
    bool straight = true;
    for (int bounce = 0; bounce < 4; bounce++) {
        d = unit(d);
        Hit h = trace(s, e, d, straight);
        if (straight) light = light + through * h.glow;
        if (h.albedo.x + h.albedo.y + h.albedo.z <= 0 || h.glow.x > 0) break;
        V p = e + d * h.t + h.n * 5e-4f;
        float cosine = clampf(-dot(d, h.n), 0, 1);
        float mirror = h.gloss * (0.04f + 0.6f * powf(1 - cosine, 5.0f)), chosen = next(r);
        float a = next(r), b = next(r), share = mirror > 0.003f ? 0.25f + 0.5f * mirror : 0;
        if (chosen < share) {
            through = through * (mirror / share);
            float rough = 0.25f * (1 - 0.9f * h.gloss);
            d = d - h.n * (2 * dot(d, h.n)) + V{a - 0.5f, b - 0.5f, next(r) - 0.5f} * rough;
            if (dot(d, h.n) < 0.01f) break;
            straight = true;
        } else {
            through = through * h.albedo * (1 / (1 - share));
            light = light + through * lit(s, p, h.n, r);
            if (bounce == 3) light = light + through * v3(s.ambient);
            V t = fabsf(h.n.z) < 0.9f ? unit(cross(h.n, {0, 0, 1})) : unit(cross(h.n, {1, 0, 0}));
            float w = sqrtf(a);
            d = t * (w * cosf(6.2832f * b)) + cross(h.n, t) * (w * sinf(6.2832f * b)) + h.n * sqrtf(1 - a);
            straight = false;
        }
        e = p;
        if (bounce == 1) light = light + through * v3(s.ambient) * 0.25f;
    }
    float most = fmaxf(light.x, fmaxf(light.y, light.z));
    return most > 60 ? light * (60 / most) : light;
}

FN V ray_of(const Scene &s, float u, float v) {
    float bx = u / s.lens[0], by = v / s.lens[0], x = bx, y = by;
    for (int k = 0; k < 5; k++) {
        float bend = 1 + s.lens[1] * (x * x + y * y);
        x = bx / bend; y = by / bend;
    }
    const float *r = s.rotation;
    return {r[0] * x + r[3] * y + r[6], r[1] * x + r[4] * y + r[7], r[2] * x + r[5] * y + r[8]};
}

// Light at a pixel of a window: w = u, v of the window's middle and pixels to a long side.
FN V window_pixel(const Scene &s, const float *w, int px, int py, int width, int height, int samples) {
    V sum = {0, 0, 0};
    uint32_t start = mixed((uint32_t)(s.seed * 4096.0f) + (s.grain > 0.5f ? mixed(px + 8192 * py) : 0u));
    for (int i = 0; i < samples; i++) {
        Numbers r = {start, i, samples, 0};
        float jx = ((i + 0.5f) / samples) - 0.5f, jy = fmodf(i * 0.618034f + 0.31f, 1.0f) - 0.5f;
        V d = ray_of(s, w[0] + (px + jx - (width - 1) * 0.5f) / w[2], w[1] + (py + jy - (height - 1) * 0.5f) / w[2]);
        sum = sum + path(s, v3(s.eye), d, r);
    }
    return sum * (1.0f / samples);
}

FN V pixel(const Scene &s, int px, int py, int width, int height, int samples) {
    float whole[3] = {0, 0, (float)(width > height ? width : height)};
    return window_pixel(s, whole, px, py, width, height, samples);
}

FN int seen_kind(const Scene &s, int px, int py, int width, int height) {
    float longest = (float)(width > height ? width : height);
    V d = ray_of(s, (px - (width - 1) * 0.5f) / longest, (py - (height - 1) * 0.5f) / longest);
    return trace(s, v3(s.eye), unit(d), true).kind;
}

// Linear light as a phone stores it. `p`: (PHONE,) 7 x 7 stencil of blur and sharpening, gains r g b, exponent of the
// fall-off, noise, contrast, saturation, focal length as it is thought to be (long sides), seed. Out: r g b from -0.5 to
// 0.5, x/f, y/f.
enum { PHONE = 58 };
template <typename T> FN void develop(const T *light, const float *p, int x, int y, int width, int height, float *out) {
    float longest = (float)(width > height ? width : height);
    float u = (x - (width - 1) * 0.5f) / longest, v = (y - (height - 1) * 0.5f) / longest;
    float c[3] = {0, 0, 0};
    for (int j = -3; j <= 3; j++)
        for (int i = -3; i <= 3; i++) {
            int px = x + i < 0 ? 0 : x + i >= width ? width - 1 : x + i;
            int py = y + j < 0 ? 0 : y + j >= height ? height - 1 : y + j;
            float w = p[(j + 3) * 7 + i + 3];
            for (int k = 0; k < 3; k++) c[k] += w * (float)light[((size_t)k * height + py) * width + px];
        }
    float fall = powf(1 + 2 * (u * u + v * v), -p[52]);
    uint32_t start = mixed((uint32_t)(p[57] * 65536.0f) ^ mixed(x + 8192 * y));
    float bell[4];
    for (int k = 0; k < 2; k++) {  // Box and Muller, 1958
        float a = ((start >> 8) + 1) * (1.0f / 16777217.0f);
        start = mixed(start + 11);
        float r = sqrtf(-2 * logf(a)), b = 6.2831853f * (start >> 8) * (1.0f / 16777216.0f);
        start = mixed(start + 13);
        bell[2 * k] = r * cosf(b);
        bell[2 * k + 1] = r * sinf(b);
    }
    float grey = 0;
    for (int k = 0; k < 3; k++) {
        float l = fmaxf(c[k], 0) * p[49 + k] * fall;
        l = fmaxf(l + 0.7f * (bell[k] + bell[3]) * p[53] * sqrtf(fminf(l, 1) + 0.02f), 0);
        l = l > 0.6f ? 0.6f + 0.4f * (1 - expf(-(l - 0.6f) / 0.5f)) : l;
        l = l < 0.0031308f ? 12.92f * l : 1.055f * powf(l, 1 / 2.4f) - 0.055f;
        c[k] = clampf(0.5f + (l - 0.5f) * p[54], 0, 1);
        grey += c[k] / 3;
    }
    for (int k = 0; k < 3; k++) out[k] = clampf(grey + (c[k] - grey) * p[55], 0, 1) - 0.5f;
    out[3] = u / p[56];
    out[4] = v / p[56];
}

extern "C" int scene_floats() { return sizeof(Scene) / 4; }

#ifdef __CUDACC__
#include <cuda_bf16.h>
#include <cuda_fp16.h>
__global__ void __launch_bounds__(128) draw_kernel(const Scene *scenes, __half *light, int width, int height, int n) {
    __shared__ Scene s;
    const float *from = (const float *)(scenes + blockIdx.z);
    for (int k = threadIdx.x; k < (int)(sizeof(Scene) / 4); k += blockDim.x) ((float *)&s)[k] = from[k];
    __syncthreads();
    int px = blockIdx.x * 16 + threadIdx.x % 16, py = blockIdx.y * 8 + threadIdx.x / 16;
    if (px >= width || py >= height) return;
    V c = pixel(s, px, py, width, height, n);
    size_t plane = (size_t)width * height, at = blockIdx.z * 3 * plane + (size_t)py * width + px;
    light[at] = __float2half(fminf(c.x, 60.0f));
    light[at + plane] = __float2half(fminf(c.y, 60.0f));
    light[at + 2 * plane] = __float2half(fminf(c.z, 60.0f));
}
__global__ void __launch_bounds__(128) kind_kernel(const Scene *scenes, uint8_t *kinds, int width, int height) {
    __shared__ Scene s;
    const float *from = (const float *)(scenes + blockIdx.z);
    for (int k = threadIdx.x; k < (int)(sizeof(Scene) / 4); k += blockDim.x) ((float *)&s)[k] = from[k];
    __syncthreads();
    int px = blockIdx.x * 16 + threadIdx.x % 16, py = blockIdx.y * 8 + threadIdx.x / 16;
    if (px < width && py < height)
        kinds[((size_t)blockIdx.z * height + py) * width + px] = seen_kind(s, px, py, width, height);
}
__global__ void __launch_bounds__(128) window_kernel(const Scene *scenes, const float *windows, __half *light, int side,
                                                     int n) {
    __shared__ Scene s;
    const float *w = windows + blockIdx.z * 4, *from = (const float *)(scenes + (int)w[3]);
    for (int k = threadIdx.x; k < (int)(sizeof(Scene) / 4); k += blockDim.x) ((float *)&s)[k] = from[k];
    __syncthreads();
    int px = blockIdx.x * 16 + threadIdx.x % 16, py = blockIdx.y * 8 + threadIdx.x / 16;
    if (px >= side || py >= side) return;
    V c = window_pixel(s, w, px, py, side, side, n);
    size_t plane = (size_t)side * side, at = blockIdx.z * 3 * plane + (size_t)py * side + px;
    light[at] = __float2half(fminf(c.x, 60.0f));
    light[at + plane] = __float2half(fminf(c.y, 60.0f));
    light[at + 2 * plane] = __float2half(fminf(c.z, 60.0f));
}
// windows: (count, 4) u, v of the middle, pixels to a long side, number of the scene; light: (count, 3, side, side)
// half.
extern "C" int draw_windows(const Scene *scenes, const float *windows, void *light, int count, int side, int samples,
                            void *stream) {
    dim3 blocks((side + 15) / 16, (side + 7) / 8, count);
    window_kernel<<<blocks, 128, 0, (cudaStream_t)stream>>>(scenes, windows, (__half *)light, side, samples);
    return (int)cudaGetLastError();
}
// light: (count, 3, height, width) half; kinds: (count, height / 2, width / 2) bytes. Returns CUDA's error number.
extern "C" int draw(const Scene *scenes, void *light, uint8_t *kinds, int count, int width, int height, int samples,
                    void *stream) {
    dim3 one((width + 15) / 16, (height + 7) / 8, count), two((width / 2 + 15) / 16, (height / 2 + 7) / 8, count);
    draw_kernel<<<one, 128, 0, (cudaStream_t)stream>>>(scenes, (__half *)light, width, height, samples);
    kind_kernel<<<two, 128, 0, (cudaStream_t)stream>>>(scenes, kinds, width / 2, height / 2);
    return (int)cudaGetLastError();
}
__global__ void __launch_bounds__(128) develop_kernel(const __half *light, const float *phones, __nv_bfloat16 *out,
                                                      int width, int height) {
    __shared__ float p[PHONE];
    if (threadIdx.x < PHONE) p[threadIdx.x] = phones[blockIdx.z * PHONE + threadIdx.x];
    __syncthreads();
    int x = blockIdx.x * 32 + threadIdx.x % 32, y = blockIdx.y * 4 + threadIdx.x / 32;
    if (x >= width || y >= height) return;
    float c[5];
    develop(light + (size_t)blockIdx.z * 3 * width * height, p, x, y, width, height, c);
    __nv_bfloat16 *to = out + (((size_t)blockIdx.z * height + y) * width + x) * 5;
    for (int k = 0; k < 5; k++) to[k] = __float2bfloat16(c[k]);
}
// light: (count, 3, height, width) half; phones: (count, PHONE); out: (count, height, width, 5) bf16.
extern "C" int photograph(const void *light, const float *phones, void *out, int count, int width, int height,
                          void *stream) {
    dim3 blocks((width + 31) / 32, (height + 3) / 4, count);
    develop_kernel<<<blocks, 128, 0, (cudaStream_t)stream>>>((const __half *)light, phones, (__nv_bfloat16 *)out, width,
                                                             height);
    return (int)cudaGetLastError();
}
#else
// light: (count, 3, height, width) floats; out: (count, height, width, 5) floats.
extern "C" int photograph(const void *light, const float *phones, void *out, int count, int width, int height, void *) {
    for (int b = 0; b < count; b++)
#pragma omp parallel for
        for (int y = 0; y < height; y++)
            for (int x = 0; x < width; x++)
                develop((const float *)light + (size_t)b * 3 * width * height, phones + b * PHONE, x, y, width, height,
                        (float *)out + (((size_t)b * height + y) * width + x) * 5);
    return 0;
}
// windows: as above; light: (count, 3, side, side) floats.
extern "C" int draw_windows(const Scene *scenes, const float *windows, void *light, int count, int side, int samples,
                            void *) {
#pragma omp parallel for schedule(dynamic, 1)
    for (int b = 0; b < count; b++)
        for (int y = 0; y < side; y++)
            for (int x = 0; x < side; x++) {
                const float *w = windows + b * 4;
                V c = window_pixel(scenes[(int)w[3]], w, x, y, side, side, samples);
                float *out = (float *)light + (size_t)b * 3 * side * side + (size_t)y * side + x;
                out[0] = c.x; out[side * side] = c.y; out[2 * side * side] = c.z;
            }
    return 0;
}
// light: (count, height, width, 3) floats; kinds: (count, height / 2, width / 2) bytes.
extern "C" int draw(const Scene *scenes, void *light, uint8_t *kinds, int count, int width, int height, int samples,
                    void *) {
    for (int b = 0; b < count; b++) {
#pragma omp parallel for schedule(dynamic, 4)
        for (int y = 0; y < height; y++)
            for (int x = 0; x < width; x++) {
                V c = pixel(scenes[b], x, y, width, height, samples);
                float *out = (float *)light + ((size_t)b * width * height + (size_t)y * width + x) * 3;
                out[0] = c.x; out[1] = c.y; out[2] = c.z;
                if (y < height / 2 && x < width / 2)
                    kinds[((size_t)b * (height / 2) + y) * (width / 2) + x] =
                        seen_kind(scenes[b], x, y, width / 2, height / 2);
            }
    }
    return 0;
}
#endif
