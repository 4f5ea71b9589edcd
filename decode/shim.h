#ifndef NIGHTPAIR_DECODE_SHIM_H
#define NIGHTPAIR_DECODE_SHIM_H

#include <stdint.h>
#include <libavcodec/avcodec.h>
#include <libavformat/avformat.h>
#include <libavutil/frame.h>
#include <libavutil/pixdesc.h>

// What go-astiav does not reach: FFmpeg's log as whole lines, a stop flag that
// may be set from another thread, the container's own index, and the samples
// and the tags of a frame in place.

void np_log_install(void);
void np_log_sink(uintptr_t sink); // of the calling thread

typedef struct np_stop np_stop;
np_stop *np_stop_new(void);
void np_stop_set(np_stop *s, int value);
void np_stop_free(np_stop *s);

void np_format_prepare(AVFormatContext *f, np_stop *s);
void np_codec_prepare(AVCodecContext *c, uintptr_t sink, AVRational time_base);
int np_best_video(AVFormatContext *f);
void np_read_only(AVFormatContext *f, int stream);
int np_disposition(AVFormatContext *f, int stream);
int np_intra_only(enum AVCodecID id);

typedef struct np_entry {
	int64_t pos, timestamp;
	int size, key, discard;
} np_entry;

int np_entries(AVFormatContext *f, int stream);
int np_entry_at(AVFormatContext *f, int stream, int i, np_entry *out);

typedef struct np_picture {
	int width, height;
	int components; // 1 or 3, alpha not counted
	int rgb, depth, direct;
	int component_width[3], component_height[3];
	int range, matrix, primaries, transfer;
	int full_format; // the format itself means full range (yuvj420p)
	int damaged, interlaced, is_float;
	int aspect_num, aspect_den;
} np_picture;

int np_describe(const AVFrame *f, np_picture *out);
int np_copy(const AVFrame *f, int component, uint16_t *dst, int stride);
int np_scaled_format(int format, int *scaled);
int np_format_depth(int format);
const char *np_range_name(int v);
const char *np_matrix_name(int v);
const char *np_primaries_name(int v);
const char *np_transfer_name(int v);
int np_frame_timecode(const AVFrame *f, AVRational rate, char *buf, int size);
AVDictionary *np_frame_metadata(AVFrame *f);
int np_framerate(const AVCodecContext *c, int *num, int *den);

#endif
