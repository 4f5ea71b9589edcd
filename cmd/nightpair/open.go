package main

import (
	"context"

	"nightpair/decode"
	"nightpair/qc/measure"
	"nightpair/qc/record"
)

// open opens a video file for qc.
func open(ctx context.Context, path string) (measure.Reader, error) {
	file, err := decode.Open(ctx, path, decode.Options{})
	if err != nil {
		return nil, err
	}
	return videoFile{file, path}, nil
}

// videoFile is a decoded file as qc wants to read it.
type videoFile struct {
	*decode.File
	path string
}

func (f videoFile) Source() record.Source { return source(f.path, f.Info()) }

// ask returns cheaply what a file says of itself.
func ask(ctx context.Context, path string) (record.Source, error) {
	info, err := decode.Ask(ctx, path)
	return source(path, info), err
}

// source puts what a file says of itself into qc's words.
func source(path string, info decode.Info) record.Source {
	return record.Source{
		Path:  path,
		Codec: info.Codec,
		Width: info.Width, Height: info.Height,
		Depth:       info.Depth,
		PixelAspect: info.PixelAspect,
		Frames:      info.Frames,
		RateNum:     info.RateNum, RateDen: info.RateDen,
		Variable:    info.Variable,
		Timecode:    info.Timecode,
		Created:     info.Created,
		Camera:      info.Camera,
		Colour:      info.ColourLabel,
		Orientation: info.Orientation,
		Packing:     packing(info.Stereo),
		Inverted:    info.Stereo.Inverted,
		MirroredEye: info.Stereo.Mirrored,
	}
}

// packing puts what a file's tags say of two eyes into qc's words.
func packing(stereo decode.Stereo) record.Packing {
	if stereo.Packing == decode.Mono {
		return ""
	}
	return record.PackingTagged(stereo.Packing.String())
}

func (f videoFile) Notes() []record.Note {
	var notes []record.Note
	for _, n := range f.File.Remarks() {
		notes = append(notes, record.Note{Text: n.Text, Count: n.Count})
	}
	return notes
}
