package webtest

import (
	"bytes"
	"encoding/binary"
	"image"
	"image/color"
	"image/jpeg"
	"mime/multipart"
	"net/http"
	"testing"
)

// JPEGOf makes a picture whose left half is dark, with an EXIF segment that says it was taken with the camera on its
// side (orientation 6, JEITA CP-3451: row 0 is seen at the right) and bears a mark of the place.
func JPEGOf(t *testing.T, w, h int, orientation byte) []byte {
	t.Helper()
	img := image.NewRGBA(image.Rect(0, 0, w, h))
	for y := range h {
		for x := range w {
			shade := uint8(230)
			if x < w/2 {
				shade = 20
			}
			img.Set(x, y, color.RGBA{shade, shade, shade, 255})
		}
	}
	var plain bytes.Buffer
	if err := jpeg.Encode(&plain, img, nil); err != nil {
		t.Fatal(err)
	}
	tiff := []byte("II*\x00\x08\x00\x00\x00\x01\x00\x12\x01\x03\x00\x01\x00\x00\x00")
	tiff = append(tiff, orientation, 0, 0, 0, 0, 0, 0, 0)
	body := append([]byte("Exif\x00\x00"), append(tiff, "GPS 47.3769 N 8.5417 E"...)...)
	segment := binary.BigEndian.AppendUint16([]byte{0xFF, 0xE1}, uint16(len(body)+2))
	return append(append([]byte{0xFF, 0xD8}, append(segment, body...)...), plain.Bytes()[2:]...)
}

type SentFile struct {
	Name string
	Data []byte
}

// SendPhotos posts files as a telephone does.
func (c *Client) SendPhotos(number string, files []SentFile, fields ...string) *Answer {
	c.T.Helper()
	var body bytes.Buffer
	w := multipart.NewWriter(&body)
	for i := 0; i < len(fields); i += 2 {
		w.WriteField(fields[i], fields[i+1])
	}
	for _, f := range files {
		part, err := w.CreateFormFile("photos", f.Name)
		if err != nil {
			c.T.Fatal(err)
		}
		part.Write(f.Data)
	}
	w.Close()
	req, err := http.NewRequest(http.MethodPost, c.URL+"/dockets/"+number+"/photos", &body)
	if err != nil {
		c.T.Fatal(err)
	}
	req.Header.Set("Content-Type", w.FormDataContentType())
	return c.Do(req)
}
