/* The two-volume yardstick in C, for comparison with the engine: the same states, laws, gas table and scheme.
 *
 * States x: gas mass m[2] (kg) | internal energy U[2] (J) | wall temperature w[2] (K) | gauge (Pa) | openings[2] (-).
 * Edges: 0 supply -> volume 0 through the inlet (ISO 6358), 1 volume 0 -> room through the outlet (ISO 6358),
 * 2 tube between the volumes, 3 laminar leak of volume 1 to the room. Everything in SI. What is special to this network
 * (two volumes, these laws, fixed films, a room that stays as it is) is written out, as one would by hand.
 */
#include <math.h>
#include <stdint.h>
#include <string.h>

enum { N = 2, E = 4, V = 2, GAUGE = 6, VALVE = 7, NX = 9, CORE = 7, WIDE = 8, NA = 2 * E + 1, NZ = NX + V };

typedef struct {
    double r, molar_mass, gamma;
    double drho, s0, ds, rho_max, t_min, t_max;
    double n_rho, n_s;
} Table;

typedef struct {
    double p, t, rho, h, z, mu, c_star, p_m, p_u, t_m, t_u, h_m, h_u, cv, p_t;
} Gas;

/* filled from Python, see `tests/benchmark/native.py` */
typedef struct {
    Table table;
    double supply[6], room[6]; /* pressure, temperature, enthalpy, Z, viscosity, C* */
    double capacity[N], wall_heat[N], room_link[N], film[N];
    double inlet[2], outlet[2], tube[3], leak, gauge_lag, valve_lag[V];
    double zero, full_scale, noise, kp, ti, td, filter, track, period, weight;
    double span, pressure, kelvin, kelvin_least, film_share, opening, difference, straight, laminar;
    double lives, fine, fine_share, noise_share, forget, seldom, torn, tolerance, step_share, least, slow_step;
    double seed;
} Bench;

static Bench B;
static const double *COEF;
static Gas SUPPLY, ROOM;

/* ---- gas ---- */

static inline double place(double x, int n, int *i) {
    *i = x >= n - 1 ? n - 2 : (x > 0.0 ? (int)x : 0);
    return x - *i;
}

static inline const double *cell(int i, int j, int k) {
    return COEF + (((size_t)i * ((int)B.table.n_s - 1) + j) * 5 + k) * 16;
}

static inline double value(const double *c, double x, double y) {
    double g[4];
    for (int a = 0; a < 4; a++) g[a] = c[4 * a] + y * (c[4 * a + 1] + y * (c[4 * a + 2] + y * c[4 * a + 3]));
    return g[0] + x * (g[1] + x * (g[2] + x * g[3]));
}

static inline double surface(const double *c, double x, double y, double *d_x, double *d_y) {
    double g[4], k[4];
    for (int a = 0; a < 4; a++) {
        g[a] = c[4 * a] + y * (c[4 * a + 1] + y * (c[4 * a + 2] + y * c[4 * a + 3]));
        k[a] = c[4 * a + 1] + y * (2.0 * c[4 * a + 2] + 3.0 * y * c[4 * a + 3]);
    }
    *d_x = g[1] + x * (2.0 * g[2] + 3.0 * x * g[3]);
    *d_y = k[0] + x * (k[1] + x * (k[2] + x * k[3]));
    return g[0] + x * (g[1] + x * (g[2] + x * g[3]));
}

/* coefficients over y at one x */
static inline void along(const double *c, double x, double *over_y) {
    for (int b = 0; b < 4; b++) over_y[b] = c[b] + x * (c[4 + b] + x * (c[8 + b] + x * c[12 + b]));
}

static double temperature(double rho, double u, double guess) {
    const Table *t = &B.table;
    int i, j, now = -1;
    double c[4] = {0.0}, x = place(rho / t->drho, (int)t->n_rho, &i), T = fmin(fmax(guess, t->t_min), t->t_max);
    for (int turn = 0; turn < 40; turn++) {
        double s = 1.0 / T, y = place((s - t->s0) / t->ds, (int)t->n_s, &j);
        if (j != now) along(cell(i, j, 1), x, c), now = j;
        double w = c[0] + y * (c[1] + y * (c[2] + y * c[3])), w_y = c[1] + y * (2.0 * c[2] + 3.0 * y * c[3]);
        double step = (u - w * T) / (w - s * w_y / t->ds), next = T + step;
        if (fabs(step) <= 1e-9 * T) return next;
        T = fmin(fmax(next, t->t_min), t->t_max);
    }
    return NAN;
}

/* what the flows take from a gas besides its pressure and temperature */
static void slow_state(double rho, double T, Gas *g) {
    const Table *t = &B.table;
    int i, j;
    double x = place(rho / t->drho, (int)t->n_rho, &i), y = place((1.0 / T - t->s0) / t->ds, (int)t->n_s, &j);
    g->z = value(cell(i, j, 0), x, y), g->mu = value(cell(i, j, 2), x, y), g->c_star = value(cell(i, j, 4), x, y);
}

static int gas_state(double m, double energy, double volume, Gas *g) {
    const Table *t = &B.table;
    double rho = m / volume, u = energy / m;
    if (!(m > 0.0) || !(rho <= t->rho_max)) return 0;
    double T = temperature(rho, u, g->t), s = 1.0 / T;
    if (!(T >= t->t_min && T <= t->t_max)) return 0;
    int i, j;
    double x = place(rho / t->drho, (int)t->n_rho, &i), y = place((s - t->s0) / t->ds, (int)t->n_s, &j);
    double z_x, z_y, w_x, w_y, z = surface(cell(i, j, 0), x, y, &z_x, &z_y), w = surface(cell(i, j, 1), x, y, &w_x, &w_y);
    double p_rho = t->r * T * (z + rho * z_x / t->drho), p_t = rho * t->r * (z - s * z_y / t->ds);
    double u_rho = w_x / t->drho * T, cv = w - s * w_y / t->ds;
    g->p = rho * t->r * T * z, g->t = T, g->rho = rho, g->z = z, g->cv = cv, g->p_t = p_t;
    g->mu = value(cell(i, j, 2), x, y), g->c_star = value(cell(i, j, 4), x, y);
    g->t_u = 1.0 / (m * cv), g->t_m = (-u / m - u_rho / volume) / cv;
    g->p_u = p_t * g->t_u, g->p_m = p_rho / volume + p_t * g->t_m;
    g->h = u + g->p * volume / m;
    g->h_u = 1.0 / m + volume / m * g->p_u;
    g->h_m = -u / m + volume / m * g->p_m - g->p * volume / (m * m);
    return 1;
}

static int gas_states(const double *x, Gas *g) {
    for (int i = 0; i < N; i++)
        if (!gas_state(x[i], x[N + i], B.capacity[i], &g[i])) return 0;
    return 1;
}

/* ---- flow laws: mass flow and its slopes with both pressures and the upstream temperature ---- */

typedef struct {
    double m, up, down, warm;
} Flow;

static const double START = 0.01;

static inline double ellipse(double x, double b, double *slope) {
    double y = x / (1.0 - b);
    if (y >= 1.0) {
        *slope = 0.0;
        return 1.0;
    }
    double share = sqrt(y * (2.0 - y));
    *slope = (1.0 - y) / (share * (1.0 - b));
    return share;
}

static inline Flow iso(double p_up, double p_down, double T, const Gas *g, const double *a) {
    double x = (p_up - p_down) / p_up, share, slope;
    if (x < START) {
        double rise, v = ellipse(START, a[1], &rise), t = x / START;
        rise *= START;
        double linear = 0.5 * (3.0 * v - rise), cubic = 0.5 * (rise - v);
        share = t * (linear + cubic * t * t), slope = (linear + 3.0 * cubic * t * t) / START;
    } else
        share = ellipse(x, a[1], &slope);
    double other = g->c_star / 0.6847314563772704 * sqrt(B.table.molar_mass / 0.02896546);
    double k = a[0] * 1.185 * sqrt(293.15) * other / sqrt(T), m = k * p_up * share;
    return (Flow){m, k * (share + slope * p_down / p_up), -k * slope, -0.5 * m / T};
}

static const double LAMINAR_END = 2300.0, TURBULENT_START = 4000.0;

static inline double colebrook(double x, double roughness, double *slope) {
    double shear = 2.51 / x, inside = roughness / 3.7 + shear, root = -2.0 * log10(inside);
    *slope = root + 2.0 / log(10.0) * shear / inside;
    return x * root;
}

static double reynolds(double x2, double roughness, double *slope) {
    if (x2 <= 64.0 * LAMINAR_END) {
        *slope = 1.0 / 64.0;
        return x2 / 64.0;
    }
    double rough = fmin(roughness, 0.03), x = sqrt(x2);
    double end = TURBULENT_START / (-1.8 * log10(pow(rough / 3.7, 1.11) + 6.9 / TURBULENT_START));
    if (x >= end) {
        double re = colebrook(x, rough, slope);
        *slope *= 0.5 / x;
        return re;
    }
    double slope_end, re_end = colebrook(end, rough, &slope_end), begin = sqrt(64.0 * LAMINAR_END);
    double width = log(end / begin), rise = log(re_end / LAMINAR_END), left = 2.0 * width;
    double right = slope_end * end / re_end * width, t = log(x / begin) / width;
    double c2 = 3.0 * rise - 2.0 * left - right, c3 = left + right - 2.0 * rise;
    double re = LAMINAR_END * exp(t * (left + t * (c2 + t * c3)));
    *slope = re * (left + t * (2.0 * c2 + t * 3.0 * c3)) / (2.0 * width * x2);
    return re;
}

static inline double isentropic_square(double x, double gamma, double *slope) {
    double throat_t = 2.0 / (gamma + 1.0), throat_rho = pow(throat_t, 1.0 / (gamma - 1.0));
    if (1.0 - x <= throat_rho * throat_t) {
        *slope = 0.0;
        return 1.0;
    }
    double lead = 2.0 / ((gamma - 1.0) * throat_rho * throat_rho * throat_t), log_r = log1p(-x);
    double square = exp(2.0 / gamma * log_r);
    *slope = lead * ((gamma + 1.0) / gamma * sqrt(square) - 2.0 / gamma * square / (1.0 - x));
    return -lead * square * expm1((gamma - 1.0) / gamma * log_r);
}

static inline Flow tube(double p_up, double p_down, double T, const Gas *g, const double *a) {
    double r = B.table.r, mu = g->mu, bore = a[0], length = a[1], drop = p_up - p_down;
    double per_square = bore * bore * bore / (mu * mu * g->z * r * T * length), x2 = per_square * drop * (p_up + p_down);
    double slope, re = reynolds(x2, a[2] / bore, &slope), k = 0.25 * M_PI * bore * mu, pull = k * slope * per_square;
    double m = k * re, up = 2.0 * pull * p_up, down = -2.0 * pull * p_down, warm = -k * slope * x2 / T;
    double root = sqrt(r * T), ks = bore * bore * bore / (6.0 * length) * sqrt(2.0 * M_PI) / (g->z * root);
    double per_pressure = 0.5 * bore / (mu * root), u = per_pressure * (p_up + p_down), below = 1.0 + 1.24 * u;
    double share = (1.0 + u) / below, turn = -0.24 / (below * below), change = ks * turn * per_pressure * drop;
    double ms = ks * share * drop;
    m += ms, up += ks * share + change, down += -ks * share + change, warm += -0.5 * (ms + ks * turn * u * drop) / T;
    double x = drop / p_up, q_slope, q = isentropic_square(x, B.table.gamma, &q_slope);
    if (x <= 0.0 || q <= 0.0) return (Flow){m, up, down, warm};
    double nozzle = 0.25 * M_PI * bore * bore * g->c_star * p_up, w = m * m * r * T / (nozzle * nozzle * q);
    double bend = q_slope / (q * p_up), scale = 1.0 / ((1.0 + w) * sqrt(1.0 + w)), held = 0.5 * m * w;
    return (Flow){m * (1.0 + w) * scale, scale * (up + held * (2.0 / p_up + bend * p_down / p_up)),
                  scale * (down - held * bend), scale * (warm - held / T)};
}

static inline Flow leak(double p_up, double p_down, double T, const Gas *g, const double *a) {
    double k = a[0] / (g->z * T * g->mu), m = k * (p_up - p_down) * (p_up + p_down);
    return (Flow){m, 2.0 * k * p_up, -2.0 * k * p_down, -m / T};
}

/* ---- the plant: rates f, rate of the totals and, if wanted, their derivatives ---- */

typedef Flow (*Law)(double, double, double, const Gas *, const double *);

static inline void column(double jac[NX][NX], double tot[NA][NX], int c, int a, int b, int k, double dm, double dh) {
    if (a < N) jac[a][c] -= dm, jac[N + a][c] -= dh;
    if (b < N) jac[b][c] += dm, jac[N + b][c] += dh;
    tot[k][c] += dm;
    tot[E + k][c] += dh;
}

/* a, b: volumes, or N for a boundary; always inlined with constants */
static inline __attribute__((always_inline)) void edge(int k, int a, int b, const Gas *ga, const Gas *gb, int valve, Law law,
        const double *par, const double *x, double *f, double *rate, double jac[NX][NX], double tot[NA][NX], int want) {
    double opening = valve >= 0 ? x[VALVE + valve] : 1.0;
    if (opening == 0.0 && !want) return;
    int forward = ga->p >= gb->p;
    const Gas *up = forward ? ga : gb;
    double sign = forward ? 1.0 : -1.0;
    Flow q = law(up->p, forward ? gb->p : ga->p, up->t, up, par);
    double flow = sign * opening * q.m, h = up->h, share = sign * opening;
    if (a < N) f[a] -= flow, f[N + a] -= flow * h;
    if (b < N) f[b] += flow, f[N + b] += flow * h;
    rate[k] = flow, rate[E + k] = flow * h;
    if (!want) return;
    for (int end = 0; end < 2; end++) {
        int i = end == 0 ? a : b, upstream = (end == 0) == forward;
        if (i >= N) continue;
        const Gas *g = end == 0 ? ga : gb;
        double dp = upstream ? q.up : q.down, dt = upstream ? q.warm : 0.0, dh = upstream ? flow : 0.0;
        double dm = share * (dp * g->p_m + dt * g->t_m);
        column(jac, tot, i, a, b, k, dm, dm * h + dh * g->h_m);
        dm = share * (dp * g->p_u + dt * g->t_u);
        column(jac, tot, N + i, a, b, k, dm, dm * h + dh * g->h_u);
    }
    if (valve >= 0) column(jac, tot, VALVE + valve, a, b, k, sign * q.m, sign * q.m * h);
}

static int plant(const double *x, const double *command, Gas *g, double *f, double *rate, double jac[NX][NX],
        double tot[NA][NX], int want, int known) {
    memset(f, 0, NX * sizeof *f);
    memset(rate, 0, NA * sizeof *rate);
    if (want) memset(jac, 0, NX * NX * sizeof(double)), memset(tot, 0, NA * NX * sizeof(double));
    if (!known && !gas_states(x, g)) return 0;
    edge(0, N, 0, &SUPPLY, &g[0], 0, iso, B.inlet, x, f, rate, jac, tot, want);
    edge(1, 0, N, &g[0], &ROOM, 1, iso, B.outlet, x, f, rate, jac, tot, want);
    edge(2, 0, 1, &g[0], &g[1], -1, tube, B.tube, x, f, rate, jac, tot, want);
    edge(3, 1, N, &g[1], &ROOM, -1, leak, &B.leak, x, f, rate, jac, tot, want);
    for (int i = 0; i < N; i++) {
        int w = 2 * N + i;
        double heat = B.film[i] * (x[w] - g[i].t), outside = B.room_link[i] * (ROOM.t - x[w]), inverse = 1.0 / B.wall_heat[i];
        f[N + i] += heat;
        f[w] += (outside - heat) * inverse;
        rate[2 * E] += outside;
        if (!want) continue;
        jac[N + i][i] -= B.film[i] * g[i].t_m, jac[N + i][N + i] -= B.film[i] * g[i].t_u, jac[N + i][w] += B.film[i];
        jac[w][i] += B.film[i] * g[i].t_m * inverse, jac[w][N + i] += B.film[i] * g[i].t_u * inverse;
        jac[w][w] -= (B.film[i] + B.room_link[i]) * inverse;
        tot[2 * E][w] -= B.room_link[i];
    }
    double inverse = 1.0 / B.gauge_lag;
    f[GAUGE] = (g[0].p - x[GAUGE]) * inverse;
    if (want) jac[GAUGE][0] = g[0].p_m * inverse, jac[GAUGE][N] = g[0].p_u * inverse, jac[GAUGE][GAUGE] = -inverse;
    for (int j = 0; j < V; j++) {
        f[VALVE + j] = (command[j] - x[VALVE + j]) / B.valve_lag[j];
        if (want) jac[VALVE + j][VALVE + j] = -1.0 / B.valve_lag[j];
    }
    return 1;
}

/* adds to the derivatives of edge k what the slow properties of the gas upstream do */
static inline __attribute__((always_inline)) void slow_edge(int k, int a, int b, const Gas *ga, const Gas *gb, int valve, Law law,
        const double *par, const double *x, const Gas *moved, int by_density, const double *rate, double jac[NX][NX],
        double tot[NA][NX]) {
    int up = rate[k] > 0.0 ? a : b;
    if (rate[k] == 0.0 || up >= N) return;
    const Gas *g = up == a ? ga : gb, *other = up == a ? gb : ga;
    double share = (valve >= 0 ? x[VALVE + valve] : 1.0) * (up == a ? 1.0 : -1.0);
    double more = law(g->p, other->p, g->t, &moved[up], par).m, less = law(g->p, other->p, g->t, g, par).m;
    double change = share * (more - less) / B.slow_step;
    double dm = change * (by_density ? 1.0 / x[up] : g->t_m / g->t);
    column(jac, tot, up, a, b, k, dm, dm * g->h);
    if (by_density) return;
    dm = change * g->t_u / g->t;
    column(jac, tot, N + up, a, b, k, dm, dm * g->h);
}

static void add_slow(const double *x, const Gas *g, const double *rate, double jac[NX][NX], double tot[NA][NX]) {
    Gas moved[N];
    for (int d = 0; d < 2; d++) {
        for (int i = 0; i < N; i++) {
            double step = 1.0 + B.slow_step;
            slow_state(d ? g[i].rho * step : g[i].rho, d ? g[i].t : g[i].t * step, &moved[i]);
        }
        slow_edge(1, 0, N, &g[0], &ROOM, 1, iso, B.outlet, x, moved, d, rate, jac, tot);
        slow_edge(0, N, 0, &SUPPLY, &g[0], 0, iso, B.inlet, x, moved, d, rate, jac, tot);
        slow_edge(2, 0, 1, &g[0], &g[1], -1, tube, B.tube, x, moved, d, rate, jac, tot);
        slow_edge(3, 1, N, &g[1], &ROOM, -1, leak, &B.leak, x, moved, d, rate, jac, tot);
    }
}

/* ---- one step of ROS34PW2; walls, gauge and openings are eliminated before the four states of the gas ---- */

static const double GAMMA = 0.43586652150845900;
static double STAGE[4][4], COUPLE[4][4], WEIGHT[4], ERROR[4];

static void factor(double a[NX][NX]) {
    for (int i = 2 * N; i < NX; i++) a[i][i] = 1.0 / a[i][i];
    for (int i = 0; i < N; i++) {
        int w = 2 * N + i;
        double share = a[N + i][w] * a[w][w];
        a[N + i][w] = share;
        a[N + i][i] -= share * a[w][i];
        a[N + i][N + i] -= share * a[w][N + i];
    }
    for (int p = 0; p < 2 * N; p++) {
        a[p][p] = 1.0 / a[p][p];
        for (int i = p + 1; i < 2 * N; i++) {
            double share = a[i][p] *= a[p][p];
            for (int j = p + 1; j < 2 * N; j++) a[i][j] -= share * a[p][j];
        }
    }
}

static inline double pressure_of(const Gas *g, const double *d, int i) { return g[i].p_m * d[i] + g[i].p_u * d[N + i]; }

static inline void solve(double a[NX][NX], double *b) {
    for (int j = VALVE; j < NX; j++) {
        b[j] *= a[j][j];
        b[0] -= a[0][j] * b[j];
        b[N] -= a[N][j] * b[j];
    }
    for (int i = 0; i < N; i++) b[N + i] -= a[N + i][2 * N + i] * b[2 * N + i];
    for (int p = 0; p < 2 * N; p++)
        for (int i = p + 1; i < 2 * N; i++) b[i] -= a[i][p] * b[p];
    for (int p = 2 * N - 1; p >= 0; p--) {
        for (int j = p + 1; j < 2 * N; j++) b[p] -= a[p][j] * b[j];
        b[p] *= a[p][p];
    }
    for (int i = 0; i < N; i++) b[2 * N + i] = (b[2 * N + i] - a[2 * N + i][i] * b[i] - a[2 * N + i][N + i] * b[N + i]) * a[2 * N + i][2 * N + i];
    b[GAUGE] = (b[GAUGE] - a[GAUGE][0] * b[0] - a[GAUGE][N] * b[N]) * a[GAUGE][GAUGE];
}

typedef struct {
    Gas gas[N], stage_gas[N];
    double f[5][NX], rate[5][NA], jac[NX][NX], tot[NA][NX], matrix[NX][NX];
} Work;

/* error over tolerance, accepted if <= 1; x and totals are changed only then */
static double step(double *x, double *totals, const double *command, double h, Work *w, int fresh, int known) {
    double y[NX], diagonal = 1.0 / (GAMMA * h);
    if (fresh && !plant(x, command, w->gas, w->f[0], w->rate[0], w->jac, w->tot, 1, known)) return INFINITY;
    for (int i = 0; i < NX; i++) {
        for (int j = 0; j < NX; j++) w->matrix[i][j] = -w->jac[i][j];
        w->matrix[i][i] += diagonal;
    }
    factor(w->matrix);
    for (int s = 0; s < 4; s++) {
        double *u = w->f[1 + s], *a = w->rate[1 + s];
        if (s == 0) {
            memcpy(u, w->f[0], sizeof w->f[0]);
            memcpy(a, w->rate[0], sizeof w->rate[0]);
        } else {
            memcpy(y, x, sizeof y);
            for (int q = 0; q < s; q++)
                for (int i = 0; i < NX; i++) y[i] += STAGE[s][q] * w->f[1 + q][i];
            if (!plant(y, command, w->stage_gas, u, a, NULL, NULL, 0, 0)) return INFINITY;
        }
        for (int q = 0; q < s; q++) {
            double c = COUPLE[s][q] / h;
            for (int i = 0; i < NX; i++) u[i] += c * w->f[1 + q][i];
            for (int i = 0; i < NA; i++) a[i] += c * w->rate[1 + q][i];
        }
        solve(w->matrix, u);
        for (int i = 0; i < NA; i++) {
            double sum = a[i];
            for (int j = 0; j < NX; j++) sum += w->tot[i][j] * u[j];
            a[i] = sum / diagonal;
        }
    }
    for (int i = 0; i < NX; i++) {
        y[i] = 0.0;
        for (int s = 0; s < 4; s++) y[i] += ERROR[s] * w->f[1 + s][i];
    }
    double worst = fabs(y[GAUGE]), fastest = 0.0;
    for (int i = 0; i < N; i++) {
        const Gas *g = &w->gas[i];
        worst = fmax(worst, fabs(pressure_of(w->gas, y, i)));
        fastest = fmax(fastest, fabs(pressure_of(w->gas, w->f[0], i)));
        worst = fmax(worst, fabs((g->t_m * y[i] + g->t_u * y[N + i]) * g->p_t));
    }
    worst /= fmin(B.tolerance, fmax((B.noise > 0.0 ? B.noise_share : B.step_share) * h * fastest, B.least * B.tolerance));
    if (!(worst <= 1.0)) return worst;
    for (int s = 0; s < 4; s++) {
        for (int i = 0; i < NX; i++) x[i] += WEIGHT[s] * w->f[1 + s][i];
        for (int i = 0; i < NA; i++) totals[i] += WEIGHT[s] * w->rate[1 + s][i];
    }
    return worst;
}

/* what a pressure does within a sample: extremes, fastest rate, and the last step: start, rate there, length */
typedef struct {
    double top, low, fast, began, speed, came;
} Between;

/* the extreme inside a cubic over [0, 1] whose slopes at its ends have opposite signs */
static double turn(double start, double end, double leaves, double arrives) {
    double rise = end - start, square = 3.0 * rise - 2.0 * leaves - arrives, cube = leaves + arrives - 2.0 * rise;
    double root = 4.0 * square * square - 12.0 * cube * leaves, value = start;
    if (!(root >= 0.0)) return start;
    double q = -(square + copysign(0.5 * sqrt(root), square)), s = q != 0.0 ? leaves / q : -1.0;
    if (0.0 < s && s < 1.0) value = start + s * (leaves + s * (square + s * cube));
    s = cube != 0.0 ? q / (3.0 * cube) : -1.0;
    if (0.0 < s && s < 1.0) value = start + s * (leaves + s * (square + s * cube));
    return value;
}

static inline void reach(Between *b, double end, double leaves, double arrives) {
    b->top = fmax(b->top, end), b->low = fmin(b->low, end);
    if (leaves * arrives < 0.0) {
        double v = turn(b->began, end, leaves, arrives);
        b->top = fmax(b->top, v), b->low = fmin(b->low, v);
    }
}

static inline void arrive(Between *between, const Gas *g) {
    for (int i = 0; i < N; i++) {
        Between *b = &between[i];
        double leaves = b->came * b->speed, rise = g[i].p - b->began;
        reach(b, g[i].p, leaves, 2.0 * rise - leaves);
        b->fast = fmax(b->fast, fabs(rise) / b->came);
        b->came = 0.0;
    }
}

static int sample_in_steps(double *x, double *totals, const double *command, double *h, Work *w, Between *between) {
    int known = 1; /* the gas of the first step */
    for (int i = 0; i < N; i++) between[i] = (Between){w->gas[i].p, w->gas[i].p, 0.0, 0.0, 0.0, 0.0};
    double done = 0.0, span = B.period;
    for (int fresh = 1; done < span * (1.0 - 1e-12);) {
        int last = *h >= span - done;
        double size = last ? span - done : *h, err = step(x, totals, command, size, w, fresh, known);
        fresh = err <= 1.0;
        if (fresh) {
            known = 0;
            for (int i = 0; i < N; i++) {
                Between *b = &between[i];
                double p = w->gas[i].p, speed = pressure_of(w->gas, w->f[0], i);
                if (b->came > 0.0) reach(b, p, b->came * b->speed, b->came * speed);
                b->began = p, b->speed = speed, b->came = size, b->fast = fmax(b->fast, fabs(speed));
            }
            double grown = size * fmin(4.0, 0.9 / cbrt(err + 1e-12));
            done += size;
            *h = last ? fmax(*h, grown) : grown;
        } else if ((*h = size * (isinf(err) ? 0.1 : fmax(0.1, 0.9 / cbrt(err)))) < 1e-9)
            return 0;
    }
    return 1;
}

/* ---- the one-sample map ---- */

typedef struct {
    double x0[NX], e[NX][NX], f1[NX][NX], f2[NX][NX], f3[NX][NX], f[NX], rate[NA], jac[NX][NX], tot[NA][NX];
    double columns[NZ][WIDE], still[WIDE], z[NZ], sums[NZ], decay[V], gain[V];
    double pressure[N], kelvin[N], opening[V], difference[E]; /* the box */
    double rest[3][NX], rest_totals[2][NA], bend[N], rested[2][NX], step[WIDE]; /* what the map leaves out */
    Gas base[N], seen_gas[N]; /* where it was made, and at the last look */
} Map;

static void multiply(double a[NX][NX], double b[NX][NX], double out[NX][NX]) {
    for (int i = 0; i < NX; i++) {
        double row[NX] = {0.0};
        for (int k = 0; k < NX; k++)
            for (int j = 0; j < NX; j++) row[j] += a[i][k] * b[k][j];
        memcpy(out[i], row, sizeof row);
    }
}

static void exponentials(double a[NX][NX], const double *scale, double h, Map *m) {
    double norm = 0.0, t = h, spare[NX][NX], other[NX][NX], third[NX][NX];
    int doublings = 0;
    for (int i = 0; i < NX; i++) {
        double sum = 0.0;
        for (int j = 0; j < NX; j++) sum += fabs(a[i][j]) * scale[j];
        norm = fmax(norm, sum / scale[i]);
    }
    while (norm * t > 1.0 && doublings < 60) t *= 0.5, doublings++;
    memset(m->f3, 0, sizeof m->f3);
    for (int i = 0; i < NX; i++) m->f3[i][i] = 1.0;
    for (int term = 17; term > 3; term--) {
        multiply(a, m->f3, spare);
        for (int i = 0; i < NX; i++) {
            for (int j = 0; j < NX; j++) m->f3[i][j] = spare[i][j] * t / term;
            m->f3[i][i] += 1.0;
        }
    }
    for (int i = 0; i < NX; i++)
        for (int j = 0; j < NX; j++) m->f3[i][j] *= t * t * t / 6.0;
    multiply(a, m->f3, m->f2);
    for (int i = 0; i < NX; i++) m->f2[i][i] += 0.5 * t * t;
    multiply(a, m->f2, m->f1);
    for (int i = 0; i < NX; i++) m->f1[i][i] += t;
    multiply(a, m->f1, m->e);
    for (int i = 0; i < NX; i++) m->e[i][i] += 1.0;
    for (; doublings > 0; doublings--, t *= 2.0) {
        multiply(m->e, m->f3, third);
        multiply(m->e, m->f2, spare);
        multiply(m->e, m->f1, other);
        for (int i = 0; i < NX; i++)
            for (int j = 0; j < NX; j++) {
                m->f3[i][j] += t * (m->f2[i][j] + 0.5 * t * m->f1[i][j]) + third[i][j];
                m->f2[i][j] += t * m->f1[i][j] + spare[i][j];
                m->f1[i][j] += other[i][j];
            }
        multiply(m->e, m->e, spare);
        memcpy(m->e, spare, sizeof spare);
    }
}

static void build_map(const double *x, const double *command, Gas *g, Map *m) {
    double scale[NX];
    plant(x, command, g, m->f, m->rate, m->jac, m->tot, 1, 1);
    add_slow(x, g, m->rate, m->jac, m->tot);
    for (int i = 0; i < N; i++) {
        scale[i] = x[i];
        scale[N + i] = fabs(x[N + i]) + x[i] * g[i].cv * g[i].t;
        scale[2 * N + i] = g[i].t;
    }
    scale[GAUGE] = g[0].p, scale[VALVE] = scale[VALVE + 1] = 1.0;
    exponentials(m->jac, scale, B.period, m);
    m->f[VALVE] = m->f[VALVE + 1] = 0.0;
    for (int i = 0; i < CORE; i++) {
        m->still[i] = 0.0;
        for (int j = 0; j < NX; j++) {
            m->still[i] += m->f1[i][j] * m->f[j];
            m->columns[j][i] = m->e[i][j];
        }
        for (int j = 0; j < V; j++) m->columns[NX + j][i] = m->f1[i][VALVE + j];
    }
    for (int j = 0; j < V; j++) m->decay[j] = m->e[VALVE + j][VALVE + j], m->gain[j] = m->f1[VALVE + j][VALVE + j];
    memcpy(m->x0, x, sizeof m->x0);
    memset(m->z, 0, sizeof m->z);
    memset(m->sums, 0, sizeof m->sums);
    memset(m->rest, 0, sizeof m->rest);
    memset(m->rest_totals, 0, sizeof m->rest_totals);
    memset(m->bend, 0, sizeof m->bend);
    memset(m->rested, 0, sizeof m->rested);
    memset(m->step, 0, sizeof m->step);
}

static void carry_rest(Map *m, double *totals, double since) {
    double k = since, j = 0.5 * since * (since - 1.0);
    for (int i = 0; i < CORE; i++) {
        m->rested[0][i] += k * m->rest[0][i] + j * m->rest[1][i];
        m->rested[1][i] += k * m->rest[1][i];
        m->rest[0][i] += k * m->rest[1][i];
    }
    for (int a = 0; a < NA; a++) {
        double now = m->rest_totals[0][a], change = m->rest_totals[1][a];
        totals[a] += B.period * (k * (now + 0.5 * change) + j * change);
        m->rest_totals[0][a] = now + k * change;
    }
}

/* returns the largest change of a pressure in a sample that was not foreseen; *rate the largest rate there is */
static double probe(const double *x, const double *command, Map *m, double since, double *rate) {
    double seen[NX], seen_rate[NA], missed[NX], worst = 0.0;
    plant(x, command, m->seen_gas, seen, seen_rate, NULL, NULL, 0, 1);
    for (int i = 0; i < CORE; i++) {
        double v = seen[i] - m->f[i];
        for (int j = 0; j < NX; j++) v -= m->jac[i][j] * m->z[j];
        m->rest[2][i] = v - m->rest[0][i];
        m->rest[1][i] += m->rest[2][i] / since;
        m->rest[0][i] = v;
    }
    for (int a = 0; a < NA; a++) {
        double v = seen_rate[a] - m->rate[a];
        for (int j = 0; j < NX; j++) v -= m->tot[a][j] * m->z[j];
        m->rest_totals[1][a] += (v - m->rest_totals[0][a]) / since;
        m->rest_totals[0][a] = v;
    }
    for (int i = 0; i < CORE; i++) {
        double now = 0.0, change = 0.0;
        missed[i] = 0.0;
        for (int j = 0; j < CORE; j++) {
            now += m->f1[i][j] * (m->f[j] + m->rest[0][j]) + m->f2[i][j] * m->rest[1][j] / B.period;
            change += m->f1[i][j] * m->rest[1][j];
            missed[i] += m->f1[i][j] * m->rest[2][j];
        }
        m->still[i] = now, m->step[i] = change;
    }
    *rate = 0.0;
    for (int i = 0; i < N; i++) {
        worst = fmax(worst, fabs(pressure_of(m->base, missed, i)));
        *rate = fmax(*rate, fabs(pressure_of(m->base, seen, i)));
    }
    return worst;
}

/* looks one sample ahead of a new map, to know how what it leaves out begins to grow */
static int foresee(double *x, const double *command, Map *m) {
    double rate, ahead[WIDE];
    memcpy(ahead, m->still, sizeof ahead);
    for (int j = NX; j < NZ; j++)
        for (int i = 0; i < WIDE; i++) ahead[i] += m->columns[j][i] * m->z[j];
    memcpy(m->z, ahead, CORE * sizeof(double));
    for (int j = 0; j < V; j++) m->z[VALVE + j] = m->gain[j] * m->z[NX + j];
    for (int i = 0; i < NX; i++) x[i] = m->x0[i] + m->z[i];
    int inside = gas_states(x, m->seen_gas);
    if (inside) probe(x, command, m, 1.0, &rate);
    for (int i = 0; i < WIDE; i++) m->still[i] -= m->step[i];
    memset(m->rest[0], 0, sizeof m->rest[0]);
    memset(m->rest_totals[0], 0, sizeof m->rest_totals[0]);
    memset(m->z, 0, NX * sizeof(double));
    memcpy(x, m->x0, sizeof m->x0);
    return inside;
}

/* adds to the pressures of the last `since` rows what the linearisation leaves out, straight between two looks */
static void bend_rows(Map *m, int64_t since, int64_t count, double (*rows)[4]) {
    for (int i = 0; i < N; i++) {
        double v = m->seen_gas[i].p - m->base[i].p - pressure_of(m->base, m->z, i), slope = (v - m->bend[i]) / since;
        for (int64_t k = 0; k < count; k++) rows[k][i] += m->bend[i] + (k + 1) * slope;
        m->bend[i] = v;
    }
}

static void close_map(const Map *m, double *totals, double lived) {
    for (int i = 0; i < NX; i++) {
        double integral = 0.0;
        for (int j = 0; j < NX; j++)
            integral += m->f1[i][j] * m->sums[j] + m->f3[i][j] * m->rested[1][j] / B.period
                + m->f2[i][j] * (j < VALVE ? lived * m->f[j] + m->rested[0][j] : m->sums[NX + j - VALVE]);
        for (int a = 0; a < NA; a++) totals[a] += m->tot[a][i] * integral;
    }
    for (int a = 0; a < NA; a++) totals[a] += m->rate[a] * lived * B.period;
}

static void set_box(const double *x, const Gas *g, double size, Map *m) {
    for (int i = 0; i < N; i++) {
        m->pressure[i] = size * fmin(B.span * B.full_scale, B.pressure * g[i].p);
        m->kelvin[i] = size * fmax(B.kelvin_least, fmin(B.kelvin, B.film_share * fabs(x[2 * N + i] - g[i].t)));
    }
    const Gas *ends[E][2] = {{&SUPPLY, &g[0]}, {&g[0], &ROOM}, {&g[0], &g[1]}, {&g[1], &ROOM}};
    for (int k = 0; k < E; k++) {
        const Gas *up = ends[k][0]->p >= ends[k][1]->p ? ends[k][0] : ends[k][1];
        double straight = INFINITY;
        if (k < V) straight = B.straight * up->p;
        if (k == 2)
            straight = 32.0 * B.laminar * up->mu * up->mu * B.tube[1] * up->z * B.table.r * up->t / (up->p * pow(B.tube[0], 3));
        m->difference[k] = size * fmax(B.difference * fabs(ends[k][0]->p - ends[k][1]->p), straight);
        if (k < V && x[VALVE + k] == 0.0) m->difference[k] = INFINITY;
    }
    for (int j = 0; j < V; j++) m->opening[j] = size * B.opening;
}

static inline int state_inside(const Map *m, const Gas *g, const double *d, double *dp) {
    int inside = 1;
    for (int i = 0; i < N; i++) {
        dp[i] = g[i].p_m * d[i] + g[i].p_u * d[N + i];
        double dt = g[i].t_m * d[i] + g[i].t_u * d[N + i];
        inside &= fabs(dp[i]) <= m->pressure[i] && fabs(dt) <= m->kelvin[i] && fabs(d[2 * N + i] - dt) <= m->kelvin[i];
    }
    inside &= fabs(dp[0]) <= fmin(m->difference[0], m->difference[1]);
    return inside && fabs(dp[0] - dp[1]) <= m->difference[2] && fabs(dp[1]) <= m->difference[3];
}

static inline int forcing(Map *m, const double *command) {
    int inside = 1;
    for (int j = 0; j < V; j++) {
        double away = command[j] - m->x0[VALVE + j];
        m->z[NX + j] = away / B.valve_lag[j];
        inside &= fabs(away) <= m->opening[j];
    }
    return inside;
}

/* ---- the controller ---- */

typedef struct {
    double integral, derivative, last, spare;
} Memory;

static inline uint64_t mix(uint64_t z) {
    z = (z ^ (z >> 30)) * 0xBF58476D1CE4E5B9u;
    z = (z ^ (z >> 27)) * 0x94D049BB133111EBu;
    return z ^ (z >> 31);
}

static inline double normal(int64_t k, Memory *c) {
    if (k % 2) return c->spare;
    uint64_t start = (uint64_t)B.seed * 0xD1342543DE82EF95u, first = (uint64_t)k + 1;
    double u1 = ((mix(start + first * 0x9E3779B97F4A7C15u) >> 11) + 0.5) * 0x1p-53;
    double u2 = ((mix(start + (first + 1) * 0x9E3779B97F4A7C15u) >> 11) + 0.5) * 0x1p-53;
    double radius = sqrt(-2.0 * log(u1));
    c->spare = radius * sin(2.0 * M_PI * u2);
    return radius * cos(2.0 * M_PI * u2);
}

static inline double control(double sensed, double target, int64_t k, Memory *c, double *command) {
    double y = (sensed + (B.noise > 0.0 ? B.noise * normal(k, c) : 0.0) - B.zero) / B.full_scale;
    double setpoint = (target - B.zero) / B.full_scale;
    c->derivative += B.period / (B.filter + B.period) * (-(y - c->last) / B.period - c->derivative);
    c->last = y;
    double v = B.kp * (B.weight * setpoint - y + B.td * c->derivative) + c->integral, u = fmin(fmax(v, -1.0), 1.0);
    c->integral += B.period * (B.kp / B.ti * (setpoint - y) + (u - v) / B.track);
    command[0] = fmax(u, 0.0), command[1] = fmax(-u, 0.0);
    return u;
}

/* ---- the run ---- */

enum { OUTGROWN, COMMANDED, ENDED, LOOK };

static inline void record(double *row, double p0, double p1, double gauge, double u) {
    row[0] = p0, row[1] = p1, row[2] = gauge, row[3] = u;
}

static int ride(Map *m, const Gas *g, int64_t first, int64_t *k, int64_t stop, int64_t count, double target, Memory *c, double *command,
        int64_t *lived, double (*out)[4]) {
    double dp[N];
    for (*lived = 0;;) {
        double ahead[WIDE], opening[V];
        memcpy(ahead, m->still, sizeof ahead);
        for (int j = 0; j < NZ; j++)
            for (int i = 0; i < WIDE; i++) ahead[i] += m->columns[j][i] * m->z[j];
        if (!state_inside(m, g, ahead, dp)) return OUTGROWN;
        for (int j = 0; j < V; j++) {
            opening[j] = m->decay[j] * m->z[VALVE + j] + m->gain[j] * m->z[NX + j];
            if (!(fabs(opening[j]) <= m->opening[j])) return OUTGROWN;
        }
        for (int j = 0; j < NZ; j++) m->sums[j] += m->z[j];
        memcpy(m->z, ahead, CORE * sizeof(double));
        memcpy(m->z + VALVE, opening, sizeof opening);
        for (int i = 0; i < WIDE; i++) m->still[i] += m->step[i];
        ++*lived;
        if (++*k == count) return ENDED;
        double gauge = m->x0[GAUGE] + m->z[GAUGE];
        double u = control(gauge, target, first + *k, c, command);
        record(out[*k], g[0].p + dp[0], g[1].p + dp[1], gauge, u);
        if (!forcing(m, command)) return COMMANDED;
        if (*k == stop) return LOOK;
    }
}

/* rides, with looks at what the map leaves out; x ends where the ride does; -1 where the gas leaves the table */
static int journey(Map *m, Gas *g, int64_t first, int64_t *k, int64_t count, double target, Memory *c, double *command,
        double *x, double *totals, int64_t *lived, double (*out)[4]) {
    double brisk = 0.0, rate = 0.0;
    int64_t every = 1, since;
    int why;
    *lived = 0;
    if (!foresee(x, command, m)) return -1;
    for (;;) {
        int64_t stop = *k + every < count ? *k + every : count;
        why = ride(m, g, first, k, stop, count, target, c, command, &since, out);
        *lived += since;
        carry_rest(m, totals, (double)since);
        for (int i = 0; i < NX; i++) x[i] = m->x0[i] + m->z[i];
        if (!gas_states(x, m->seen_gas)) return -1;
        if (since > 0) bend_rows(m, since, why == ENDED ? since - 1 : since, out + (*k - since + 1));
        if (why != LOOK) break;
        double wrong = probe(x, command, m, (double)since, &rate);
        brisk = fmax(rate, B.forget * brisk);
        double share = B.noise > 0.0 ? B.noise_share * brisk : B.fine_share * rate;
        double fine = fmax(B.fine * B.full_scale, share) * B.period;
        if (wrong > B.torn * fine) {
            why = OUTGROWN;
            break;
        }
        if (wrong > fine)
            every = every / 2 > 1 ? every / 2 : 1;
        else if (wrong < 0.25 * fine)
            every = 2 * every < (int64_t)B.seldom ? 2 * every : (int64_t)B.seldom;
    }
    memcpy(g, m->seen_gas, sizeof m->seen_gas);
    return why;
}

enum { KEPT = 4096 };
static Between EXTREMES[KEPT][N]; /* of the samples in steps */

/* one command of `count` samples; returns 0 where the gas leaves the table */
static int leg(double *x, double *totals, Memory *c, double target, int64_t first, int64_t count, Work *w, Map *m,
        double (*out)[4], int64_t *maps, int64_t *slewed) {
    double command[V], before[NX], dp[N], h = B.period;
    Between between[N] = {{0.0}};
    int calm = 1, known = 0;
    Gas *g = w->gas;
    for (int64_t k = 0; k < count;) {
        if (!known) {
            if (!gas_states(x, g)) return 0;
            if (between[0].came > 0.0) {
                arrive(between, g);
                memcpy(EXTREMES[*slewed % KEPT], between, sizeof between);
                ++*slewed;
            }
            record(out[k], g[0].p, g[1].p, x[GAUGE], control(x[GAUGE], target, first + k, c, command));
        }
        known = 0;
        set_box(x, g, 1.0, m);
        memcpy(m->x0, x, sizeof m->x0);
        memcpy(m->base, g, sizeof m->base);
        if (calm && forcing(m, command)) {
            int64_t lived;
            build_map(x, command, g, m);
            forcing(m, command);
            ++*maps;
            int why = journey(m, g, first, &k, count, target, c, command, x, totals, &lived, out);
            close_map(m, totals, (double)lived);
            if (why < 0) return 0;
            known = calm = why == OUTGROWN && lived >= B.lives;
            if (calm || why == ENDED) continue;
        }
        memcpy(before, x, sizeof before);
        if (!sample_in_steps(x, totals, command, &h, w, between)) return 0;
        for (int i = 0; i < NX; i++) before[i] = B.lives * (x[i] - before[i]);
        calm = state_inside(m, m->base, before, dp);
        for (int j = 0; j < V; j++) calm = calm && fabs(before[VALVE + j]) <= m->opening[j];
        k++;
    }
    return 1;
}

static Gas boundary(const double *b) {
    Gas g = {0};
    g.p = b[0], g.t = b[1], g.h = b[2], g.z = b[3], g.mu = b[4], g.c_star = b[5];
    return g;
}

/* The run over `legs` commands of `count` samples each, from the state x. bench: the numbers of `Bench` in their order;
 * coef: the engine's own table; method [4 x 4 | 4 x 4 | 4 | 4] the method's coefficients; out [legs * count][4]: pressures,
 * gauge, drive; counts: maps built, samples in steps. Returns the number of legs done. */
int yardstick(const double *bench, const double *coef, const double *method, const double *targets, int legs, int count,
        double *x, double *totals, double *out, int64_t *counts) {
    static Work w;
    static Map m;
    memcpy(&B, bench, sizeof B);
    COEF = coef;
    memcpy(STAGE, method, sizeof STAGE);
    memcpy(COUPLE, method + 16, sizeof COUPLE);
    memcpy(WEIGHT, method + 32, sizeof WEIGHT);
    memcpy(ERROR, method + 36, sizeof ERROR);
    SUPPLY = boundary(B.supply), ROOM = boundary(B.room);
    memset(&w, 0, sizeof w);
    memset(&m, 0, sizeof m);
    for (int i = 0; i < N; i++) w.gas[i].t = w.stage_gas[i].t = m.seen_gas[i].t = ROOM.t;
    double seen = (x[GAUGE] - B.zero) / B.full_scale;
    Memory c = {B.kp * (1.0 - B.weight) * seen, 0.0, seen, 0.0};
    for (int i = 0; i < legs; i++)
        if (!leg(x, totals, &c, targets[i], (int64_t)i * count, count, &w, &m, (double(*)[4])out + (size_t)i * count,
                &counts[0], &counts[1]))
            return i;
    return legs;
}

int size_of_bench(void) { return (int)(sizeof(Bench) / sizeof(double)); }
