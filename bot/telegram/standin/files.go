package standin

import (
	"bytes"
	"fmt"
	"image"
	_ "image/gif"  // dimensions of photos
	_ "image/jpeg" // dimensions of photos
	_ "image/png"  // dimensions of photos
	"net/http"
	"net/url"
	"strings"
)

// file is an uploaded file. Only the last keptFiles keep their bytes.
type file struct {
	id            string
	kind          string // photo or document
	name          string
	size          int
	width, height int
	data          []byte
}

// keptFiles bounds the memory of uploads; house rule.
const keptFiles = 64

func (f *file) unique() string { return "u" + f.id }

func (f *file) path() string { return f.kind + "s/" + f.id }

// addFile stores a file and gives it an id.
func (s *Server) addFile(f *file) *file {
	s.lastFile++
	f.id = fmt.Sprintf("%s-%06d", f.kind, s.lastFile)
	f.size = len(f.data)
	s.files[f.id] = f
	s.fileOrder = append(s.fileOrder, f.id)
	if n := len(s.fileOrder); n > keptFiles {
		s.files[s.fileOrder[n-keptFiles-1]].data = nil
	}
	return f
}

// attach gives a message its photo or document: an upload, a file_id or an address.
func (s *Server) attach(c *call, m *stored, kind, ref string) *apiError {
	f, err := s.resolve(c, kind, ref)
	if err != nil {
		return err
	}
	if kind == "photo" {
		m.Photo = photoSizes(f)
		return nil
	}
	m.Document = &wireDocument{f.id, f.unique(), f.name, http.DetectContentType(f.data), f.size}
	return nil
}

// photoSizes are the sizes of a photo: a thumbnail within 90×90, then the photo.
func photoSizes(f *file) []wirePhotoSize {
	full := wirePhotoSize{f.id, f.unique(), f.width, f.height, f.size}
	if f.width <= 90 && f.height <= 90 {
		return []wirePhotoSize{full}
	}
	scale := 90 / float64(max(f.width, f.height))
	small := wirePhotoSize{f.id + "-s", f.unique() + "-s", int(float64(f.width) * scale), int(float64(f.height) * scale), f.size/10 + 1}
	return []wirePhotoSize{small, full}
}

func (s *Server) resolve(c *call, kind, ref string) (*file, *apiError) {
	if part, ok := strings.CutPrefix(ref, "attach://"); ok {
		up, ok := c.files[part]
		if !ok {
			c.violate(FileBroken, "no uploaded part %q", part)
			return nil, badRequest("wrong file identifier/HTTP URL specified")
		}
		c.used[part] = true
		return s.uploaded(c, kind, up)
	}
	if u, err := url.Parse(ref); err == nil && (u.Scheme == "http" || u.Scheme == "https") && u.Host != "" {
		// Nothing is fetched: the file is taken to be fine.
		return s.addFile(&file{kind: kind, name: u.Path, width: 640, height: 480}), nil
	}
	f := s.files[strings.TrimSuffix(ref, "-s")]
	if f == nil || f.kind != kind {
		c.violate(FileBroken, "%q is no file_id of a %s of this bot", ref, kind)
		return nil, badRequest("wrong file identifier/HTTP URL specified")
	}
	return f, nil
}

func (s *Server) uploaded(c *call, kind string, up upload) (*file, *apiError) {
	f := &file{kind: kind, name: up.name, data: up.data}
	if len(up.data) == 0 {
		c.violate(FileBroken, "the uploaded file is empty")
		return nil, badRequest("file must be non-empty")
	}
	if kind != "photo" {
		if len(up.data) > maxFileBytes {
			c.violate(FileBroken, "file of %d bytes, allowed %d", len(up.data), maxFileBytes)
			return nil, &apiError{code: 413, description: "Request Entity Too Large"}
		}
		return s.addFile(f), nil
	}
	if len(up.data) > maxPhotoBytes {
		c.violate(FileBroken, "photo of %d bytes, allowed %d", len(up.data), maxPhotoBytes)
		return nil, badRequest("file of size %d bytes is too big for a photo; the maximum size is %d bytes", len(up.data), maxPhotoBytes)
	}
	p, _, err := image.DecodeConfig(bytes.NewReader(up.data))
	if err != nil {
		c.violate(FileBroken, "the photo is no picture: %v", err)
		return nil, badRequest("IMAGE_PROCESS_FAILED")
	}
	f.width, f.height = p.Width, p.Height
	long, short := max(p.Width, p.Height), min(p.Width, p.Height)
	if p.Width+p.Height > maxPhotoSides || long > maxPhotoRatio*short {
		c.violate(FileBroken, "photo of %d×%d: width and height at most %d in total, ratio at most %d", p.Width, p.Height, maxPhotoSides, maxPhotoRatio)
		return nil, badRequest("PHOTO_INVALID_DIMENSIONS")
	}
	return s.addFile(f), nil
}

func (s *Server) getFile(c *call) (any, *apiError) {
	f := s.files[strings.TrimSuffix(c.str("file_id"), "-s")]
	if f == nil {
		c.violate(FileBroken, "no file %q", c.str("file_id"))
		return nil, badRequest("invalid file_id")
	}
	if f.size > maxDownload {
		return nil, badRequest("file is too big")
	}
	return wireFile{f.id, f.unique(), f.size, f.path()}, nil
}

func (s *Server) serveFile(w http.ResponseWriter, path string) {
	_, id, _ := strings.Cut(path, "/")
	s.mu.Lock()
	f := s.files[id]
	s.mu.Unlock()
	if f == nil || f.path() != path || f.data == nil {
		reply(w, (&apiError{code: 404, description: "Not Found"}).answer())
		return
	}
	w.Header().Set("Content-Type", "application/octet-stream")
	_, _ = w.Write(f.data) // the caller may have gone
}
