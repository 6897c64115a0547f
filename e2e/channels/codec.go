package main

import (
	"bytes"
	"context"
	"encoding/binary"
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
)

// codec says how a recording is compressed: ffmpeg's encoder, its rate and the file's kind; nothing for none.
type codec struct {
	encoder, ending string
	kbits           int
}

func aac(kbits int) codec  { return codec{"aac", "m4a", kbits} }
func opus(kbits int) codec { return codec{"libopus", "ogg", kbits} }
func mp3(kbits int) codec  { return codec{"libmp3lame", "mp3", kbits} }

// through encodes and decodes samples. What the codec puts before them it takes away again by what its file says.
func (c codec) through(ctx context.Context, samples []float32, rateHz float64) ([]float32, error) {
	if c.encoder == "" {
		return samples, nil
	}
	dir, err := os.MkdirTemp("", "channel")
	if err != nil {
		return nil, err
	}
	defer func() { _ = os.RemoveAll(dir) }()
	file, rate := filepath.Join(dir, "sound."+c.ending), strconv.Itoa(int(rateHz))
	var raw bytes.Buffer
	if err := binary.Write(&raw, binary.LittleEndian, samples); err != nil {
		return nil, err
	}
	if _, err := ffmpeg(ctx, &raw, "-f", "f32le", "-ar", rate, "-ac", "1", "-i", "-", "-c:a", c.encoder, "-b:a",
		strconv.Itoa(c.kbits)+"k", file); err != nil {
		return nil, err
	}
	out, err := ffmpeg(ctx, nil, "-i", file, "-f", "f32le", "-ar", rate, "-ac", "1", "-")
	if err != nil {
		return nil, err
	}
	heard := make([]float32, len(out)/4)
	for i := range heard {
		heard[i] = math.Float32frombits(binary.LittleEndian.Uint32(out[4*i:]))
	}
	return heard, nil
}

func ffmpeg(ctx context.Context, in *bytes.Buffer, args ...string) ([]byte, error) {
	cmd := exec.CommandContext(ctx, "ffmpeg", append([]string{"-hide_banner", "-loglevel", "error", "-y"}, args...)...)
	if in != nil {
		cmd.Stdin = in
	}
	var out, trouble bytes.Buffer
	cmd.Stdout, cmd.Stderr = &out, &trouble
	if err := cmd.Run(); err != nil {
		return nil, fmt.Errorf("ffmpeg: %w: %s", err, strings.TrimSpace(trouble.String()))
	}
	return out.Bytes(), nil
}
