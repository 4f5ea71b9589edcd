#include "shim.h"

#include <stdatomic.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <libavutil/intreadwrite.h>
#include <libavutil/log.h>
#include <libavutil/timecode.h>
#include "_cgo_export.h"

// ---- log ----

static _Thread_local uintptr_t thread_sink;

static void log_line(void *ptr, int level, const char *fmt, va_list args)
{
	if ((level & 0xff) > AV_LOG_WARNING) return;
	uintptr_t sink = thread_sink;
	const char *item = "";
	if (ptr) {
		AVClass *class = *(AVClass **)ptr;
		if (class) {
			if (class->item_name) item = class->item_name(ptr);
			// A decoder's own threads know their codec context alone.
			if (!sink && class == avcodec_get_class())
				sink = (uintptr_t)((AVCodecContext *)ptr)->opaque;
		}
	}
	if (!sink) return;
	char line[1024];
	vsnprintf(line, sizeof line, fmt, args);
	npLogLine(sink, level & 0xff, (char *)(item ? item : ""), line);
}

void np_log_install(void) { av_log_set_callback(log_line); }
void np_log_sink(uintptr_t sink) { thread_sink = sink; }

// ---- stopping a read ----

struct np_stop { atomic_int value; };

np_stop *np_stop_new(void) { return calloc(1, sizeof(np_stop)); }
void np_stop_set(np_stop *s, int value) { atomic_store(&s->value, value); }
void np_stop_free(np_stop *s) { free(s); }
static int stopped(void *s) { return atomic_load(&((np_stop *)s)->value); }

// ---- container and codec ----

void np_format_prepare(AVFormatContext *f, np_stop *s)
{
	f->interrupt_callback = (AVIOInterruptCB){stopped, s};
}

void np_codec_prepare(AVCodecContext *c, uintptr_t sink, AVRational time_base)
{
	c->opaque = (void *)sink;
	c->pkt_timebase = time_base;
}

int np_best_video(AVFormatContext *f)
{
	return av_find_best_stream(f, AVMEDIA_TYPE_VIDEO, -1, -1, NULL, 0);
}

void np_read_only(AVFormatContext *f, int stream)
{
	for (unsigned i = 0; i < f->nb_streams; i++)
		f->streams[i]->discard = (int)i == stream ? AVDISCARD_DEFAULT : AVDISCARD_ALL;
}

int np_disposition(AVFormatContext *f, int stream) { return f->streams[stream]->disposition; }

int np_intra_only(enum AVCodecID id)
{
	const AVCodecDescriptor *d = avcodec_descriptor_get(id);
	return d && (d->props & AV_CODEC_PROP_INTRA_ONLY);
}

int np_entries(AVFormatContext *f, int stream)
{
	return avformat_index_get_entries_count(f->streams[stream]);
}

int np_entry_at(AVFormatContext *f, int stream, int i, np_entry *out)
{
	const AVIndexEntry *e = avformat_index_get_entry(f->streams[stream], i);
	if (!e) return 0;
	out->pos = e->pos;
	out->timestamp = e->timestamp;
	out->size = e->size;
	out->key = (e->flags & AVINDEX_KEYFRAME) != 0;
	out->discard = (e->flags & AVINDEX_DISCARD_FRAME) != 0;
	return 1;
}

int np_framerate(const AVCodecContext *c, int *num, int *den)
{
	*num = c->framerate.num;
	*den = c->framerate.den;
	return *num > 0 && *den > 0;
}

// ---- pictures ----

static int colour_components(const AVPixFmtDescriptor *d)
{
	return d->nb_components - ((d->flags & AV_PIX_FMT_FLAG_ALPHA) ? 1 : 0);
}

// direct says whether np_copy can read the format: whole samples of one depth
// from 8 to 16 bits.
static int direct(const AVPixFmtDescriptor *d, int format)
{
	const uint64_t odd = AV_PIX_FMT_FLAG_PAL | AV_PIX_FMT_FLAG_BITSTREAM | AV_PIX_FMT_FLAG_HWACCEL |
		AV_PIX_FMT_FLAG_BAYER | AV_PIX_FMT_FLAG_FLOAT;
	if (d->flags & odd) return 0;
	if (format == AV_PIX_FMT_UYYVYY411 || format == AV_PIX_FMT_XYZ12LE || format == AV_PIX_FMT_XYZ12BE) return 0;
	int n = colour_components(d);
	if (n != 1 && n != 3) return 0;
	for (int i = 0; i < n; i++) {
		if (d->comp[i].depth != d->comp[0].depth) return 0;
		if (d->comp[i].depth < 8 || d->comp[i].depth > 16) return 0;
	}
	return 1;
}

int np_describe(const AVFrame *f, np_picture *out)
{
	const AVPixFmtDescriptor *d = av_pix_fmt_desc_get(f->format);
	if (!d || f->width <= 0 || f->height <= 0) return 0;
	memset(out, 0, sizeof *out);
	out->width = f->width;
	out->height = f->height;
	out->components = colour_components(d);
	out->rgb = (d->flags & AV_PIX_FMT_FLAG_RGB) != 0;
	out->depth = d->comp[0].depth;
	out->direct = direct(d, f->format);
	for (int i = 0; i < 3; i++) {
		int chroma = i > 0 && !out->rgb;
		out->component_width[i] = chroma ? AV_CEIL_RSHIFT(f->width, d->log2_chroma_w) : f->width;
		out->component_height[i] = chroma ? AV_CEIL_RSHIFT(f->height, d->log2_chroma_h) : f->height;
	}
	out->range = f->color_range;
	out->matrix = f->colorspace;
	out->primaries = f->color_primaries;
	out->transfer = f->color_trc;
	out->full_format = d->name && !strncmp(d->name, "yuvj", 4);
	out->damaged = f->decode_error_flags != 0 || (f->flags & AV_FRAME_FLAG_CORRUPT) != 0;
	out->is_float = (d->flags & AV_PIX_FMT_FLAG_FLOAT) != 0;
	out->interlaced = f->interlaced_frame;
	out->aspect_num = f->sample_aspect_ratio.num;
	out->aspect_den = f->sample_aspect_ratio.den;
	return 1;
}

__attribute__((optimize("O3")))
static void widen(uint16_t *dst, const uint8_t *src, int n)
{
	for (int x = 0; x < n; x++) dst[x] = src[x];
}

__attribute__((optimize("O3")))
static void clamp(uint16_t *dst, const uint8_t *bytes, int n, unsigned top)
{
	const uint16_t *src = (const uint16_t *)bytes;
	uint16_t limit = top;
	for (int x = 0; x < n; x++) dst[x] = src[x] > limit ? limit : src[x];
}

// np_copy copies one component as code values in the low bits of 16-bit
// samples. It returns 0 when the frame cannot be read as described.
int np_copy(const AVFrame *f, int component, uint16_t *dst, int stride)
{
	const AVPixFmtDescriptor *d = av_pix_fmt_desc_get(f->format);
	if (!d || component < 0 || component >= colour_components(d)) return 0;
	const AVComponentDescriptor c = d->comp[component];
	int linesize = f->linesize[c.plane];
	if (!f->data[c.plane] || linesize == 0) return 0;

	int chroma = component > 0 && !(d->flags & AV_PIX_FMT_FLAG_RGB);
	int w = chroma ? AV_CEIL_RSHIFT(f->width, d->log2_chroma_w) : f->width;
	int h = chroma ? AV_CEIL_RSHIFT(f->height, d->log2_chroma_h) : f->height;
	int big = (d->flags & AV_PIX_FMT_FLAG_BE) != 0;
	unsigned top = (1u << c.depth) - 1;
	int64_t span = (int64_t)(w - 1) * c.step + c.offset + 1;
	if (span > (linesize < 0 ? -(int64_t)linesize : linesize)) return 0;

	for (int y = 0; y < h; y++, dst += stride) {
		const uint8_t *src = f->data[c.plane] + (ptrdiff_t)y * linesize + c.offset;
		if (c.shift + c.depth <= 8) {
			if (c.step == 1 && c.shift == 0 && c.depth == 8) {
				widen(dst, src, w);
				continue;
			}
			for (int x = 0; x < w; x++, src += c.step) dst[x] = (*src >> c.shift) & top;
		} else if (c.shift + c.depth <= 16) {
			if (c.step == 2 && c.shift == 0 && big == AV_HAVE_BIGENDIAN) {
				clamp(dst, src, w, top);
				continue;
			}
			if (big)
				for (int x = 0; x < w; x++, src += c.step) dst[x] = (AV_RB16(src) >> c.shift) & top;
			else
				for (int x = 0; x < w; x++, src += c.step) dst[x] = (AV_RL16(src) >> c.shift) & top;
		} else {
			if (big)
				for (int x = 0; x < w; x++, src += c.step) dst[x] = (AV_RB32(src) >> c.shift) & top;
			else
				for (int x = 0; x < w; x++, src += c.step) dst[x] = (AV_RL32(src) >> c.shift) & top;
		}
	}
	return 1;
}

// np_scaled_format gives the format that the scaler turns an odd one into,
// losing nothing but alpha and what float holds outside 0 to 1.
int np_scaled_format(int format, int *scaled)
{
	const AVPixFmtDescriptor *d = av_pix_fmt_desc_get(format);
	if (!d || (d->flags & AV_PIX_FMT_FLAG_HWACCEL)) return 0;
	int n = colour_components(d), deep = d->comp[0].depth > 8;
	if (format == AV_PIX_FMT_UYYVYY411)
		*scaled = AV_PIX_FMT_YUV411P;
	else if (n == 1 && !(d->flags & (AV_PIX_FMT_FLAG_PAL | AV_PIX_FMT_FLAG_BAYER)))
		*scaled = deep ? AV_PIX_FMT_GRAY16 : AV_PIX_FMT_GRAY8;
	else
		*scaled = deep ? AV_PIX_FMT_RGB48 : AV_PIX_FMT_RGB24;
	return 1;
}

int np_format_depth(int format)
{
	const AVPixFmtDescriptor *d = av_pix_fmt_desc_get(format);
	return d ? d->comp[0].depth : 0;
}

const char *np_range_name(int v) { return av_color_range_name(v); }
const char *np_matrix_name(int v) { return av_color_space_name(v); }
const char *np_primaries_name(int v) { return av_color_primaries_name(v); }
const char *np_transfer_name(int v) { return av_color_transfer_name(v); }

// np_frame_timecode writes the label that the bit stream itself gives a frame.
int np_frame_timecode(const AVFrame *f, AVRational rate, char *buf, int size)
{
	char tc[AV_TIMECODE_STR_SIZE];
	const AVFrameSideData *s = av_frame_get_side_data(f, AV_FRAME_DATA_S12M_TIMECODE);
	if (s && s->size >= 8 && ((uint32_t *)s->data)[0] >= 1) {
		av_timecode_make_smpte_tc_string2(tc, rate, ((uint32_t *)s->data)[1], 0, 0);
		snprintf(buf, size, "%s", tc);
		return 1;
	}
	s = av_frame_get_side_data(f, AV_FRAME_DATA_GOP_TIMECODE);
	if (s && s->size >= 8) {
		av_timecode_make_mpeg_tc_string(tc, *(int64_t *)s->data);
		snprintf(buf, size, "%s", tc);
		return 1;
	}
	return 0;
}

AVDictionary *np_frame_metadata(AVFrame *f) { return f->metadata; }
