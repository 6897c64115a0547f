package paper

import (
	"bytes"
	"image"
	"image/color"
	"image/png"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"
)

// packageOf names the Debian package of each outside program these tests read the
// papers with.
var packageOf = map[string]string{
	"pdfinfo": "poppler-utils", "pdffonts": "poppler-utils", "pdftotext": "poppler-utils",
	"pdftoppm": "poppler-utils", "zbarimg": "zbar-tools",
}

// run runs an outside program and gives what it prints. Complaints of the program
// about the paper fail the test. A missing program fails
// the test: what it would have shown is then not known.
func run(t *testing.T, name string, args ...string) string {
	t.Helper()
	path, err := exec.LookPath(name)
	if err != nil {
		t.Fatalf("%s is missing; install it with: apt-get install %s", name, packageOf[name])
	}
	var stderr bytes.Buffer
	cmd := exec.Command(path, args...)
	cmd.Stderr = &stderr
	printed, err := cmd.Output()
	if err == nil && stderr.Len() > 0 {
		t.Errorf("%s complains of %s: %s", name, args[len(args)-1], stderr.String())
	}
	if err != nil {
		t.Fatalf("%s %s: %v\n%s", name, strings.Join(args, " "), err, stderr.String())
	}
	return string(printed)
}

// onDisk leaves a paper in a file and gives its name.
func onDisk(t *testing.T, name string, pdf []byte) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), name+".pdf")
	if err := os.WriteFile(path, pdf, 0o644); err != nil {
		t.Fatal(err)
	}
	return path
}

// scan reads the bar codes of an image: "CODE-128:text" and "QR-Code:text", each
// once. The reader is zbar, which shares no code with what drew them.
func scan(t *testing.T, images ...string) map[string]bool {
	t.Helper()
	codes := map[string]bool{}
	for _, image := range images {
		printed := run(t, "zbarimg", "-q", "--nodbus", "-Sdisable", "-Scode128.enable", "-Sqrcode.enable", "--", image)
		for _, line := range strings.Split(strings.TrimSpace(printed), "\n") {
			codes[line] = true
		}
	}
	return codes
}

// raster draws a page with poppler and gives the image's name.
func raster(t *testing.T, pdf string, page, dpi int) string {
	t.Helper()
	base := strings.TrimSuffix(pdf, ".pdf") + "-" + strconv.Itoa(dpi)
	run(t, "pdftoppm", "-r", strconv.Itoa(dpi), "-f", strconv.Itoa(page), "-l", strconv.Itoa(page), "-singlefile", "-png",
		pdf, base)
	return base + ".png"
}

var svgRect = regexp.MustCompile(`M(\d+) (\d+)h(\d+)v(\d+)h-\d+z`)

// rasterSVG draws the dark rectangles of one of our SVG codes, scale pixels to a
// module, on white.
func rasterSVG(t *testing.T, svg string, scale int) string {
	t.Helper()
	var w, h int
	box := regexp.MustCompile(`viewBox="0 0 (\d+) (\d+)"`).FindStringSubmatch(svg)
	if box == nil {
		t.Fatal("no viewBox")
	}
	w, _ = strconv.Atoi(box[1])
	h, _ = strconv.Atoi(box[2])
	img := image.NewGray(image.Rect(0, 0, w*scale, h*scale))
	for i := range img.Pix {
		img.Pix[i] = 255
	}
	for _, m := range svgRect.FindAllStringSubmatch(svg, -1) {
		n := make([]int, 4)
		for i := range n {
			n[i], _ = strconv.Atoi(m[i+1])
		}
		for y := n[1] * scale; y < (n[1]+n[3])*scale; y++ {
			for x := n[0] * scale; x < (n[0]+n[2])*scale; x++ {
				img.SetGray(x, y, color.Gray{})
			}
		}
	}
	path := filepath.Join(t.TempDir(), "code.png")
	f, err := os.Create(path)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	if err := png.Encode(f, img); err != nil {
		t.Fatal(err)
	}
	return path
}
