package bot

import (
	"encoding/base64"
	"encoding/binary"
	"errors"
	"hash/crc32"
	"math"
	"strings"
	"time"

	"bagwatch/internal/cook"
	"bagwatch/internal/food"
	"bagwatch/internal/quantity"
)

// PackedMax is the length of the longest packed request in bytes. With a letter for the action before
// it, it fits a button (64 bytes) and a deep link (64 characters of base64url).
const PackedMax = 45

// ErrPacked reports text that is no packed request of this catalogue.
var ErrPacked = errors.New("bot: not a packed request")

// A packed request, base64url without padding of
//
//	version      1 byte
//	food         3 bytes: the low 24 bits of CRC-32 of its id, so that a packed request outlives
//	             any change of the catalogue's order; a test keeps the ids apart
//	flags        1 byte
//	kinds        1 byte: shape, start, bath
//	present      1 byte: which of the following there are, in this order
//	pieces       uvarint
//	mass         uvarint, 0.1 g
//	thickness    uvarint, 1/80 mm: whole for millimetres and sixteenths of an inch
//	start        varint, 1/90 K: whole for tenths of °C and of °F
//	doneness     2 bytes: the low 16 bits of CRC-32 of its id
//	setpoint     varint, 1/90 K
//	span         uvarint, minutes
//
// Country, altitude and the thermometer's error are the reader's own settings and are not packed.
const packVersion = 1

const (
	packMassEach = 1 << iota
	packVague
	packPasteurised
	packAtRisk
	packNonIntact
	packCured
	packFlags
)

const (
	packPieces = 1 << iota
	packMass
	packThickness
	packStartAt
	packDoneness
	packSetpoint
	packSpan
	packPresent
)

// Units of the packed numbers.
const (
	packGram   = 10.0 // a gram
	packMM     = 80.0 // a millimetre
	packKelvin = 90.0 // a kelvin
)

// Bounds of what is unpacked: a button can be forged, and the model expects what the parser lets through.
const (
	packMostPieces = 1000
	packMostSpan   = 60 * 24 * time.Hour
	packMostMass   = 1000 * 1000 * packGram
	packMostLength = 1000 * packMM
	packMostDegree = 300 * packKelvin
)

// The kinds by number. Only append: a packed request never expires.
var (
	packShapes = [...]cook.ShapeOverride{cook.ShapeOwn, cook.ShapeSlab, cook.ShapeBlock, cook.ShapeCylinder, cook.ShapeSphere}
	packStarts = [...]cook.StartKind{"", cook.StartFridge, cook.StartRoom, cook.StartFrozen, cook.StartGiven}
	packBaths  = [...]cook.BathKind{"", cook.BathCirculating, cook.BathStill}
)

// packer packs and unpacks requests for the foods of one catalogue.
type packer struct {
	foods    map[uint32]food.ID
	doneness map[uint16]food.Doneness
}

func newPacker(foods *food.Catalogue) *packer {
	p := &packer{foods: map[uint32]food.ID{}, doneness: map[uint16]food.Doneness{}}
	for f := range foods.All() {
		p.foods[foodNumber(f.ID)] = f.ID
		for _, s := range f.Steps {
			p.doneness[donenessNumber(s.ID)] = s.ID
		}
	}
	return p
}

func foodNumber(id food.ID) uint32           { return crc32.ChecksumIEEE([]byte(id)) & 0xFFFFFF }
func donenessNumber(id food.Doneness) uint16 { return uint16(crc32.ChecksumIEEE([]byte(id))) }

func indexOf[T comparable](list []T, v T) byte {
	for i, x := range list {
		if x == v {
			return byte(i)
		}
	}
	return 0
}

// pack gives the request as at most [PackedMax] bytes of base64url.
func (p *packer) pack(r cook.Request) string {
	n := foodNumber(r.Food)
	b := make([]byte, 7, 33)
	b[0], b[1], b[2], b[3] = packVersion, byte(n>>16), byte(n>>8), byte(n)
	for _, f := range [...]struct {
		bit byte
		on  bool
	}{{packMassEach, r.MassEach}, {packVague, r.ThicknessVague}, {packPasteurised, r.Pasteurised}, {packAtRisk, r.AtRisk}, {packNonIntact, r.NonIntact}, {packCured, r.Cured}} {
		if f.on {
			b[4] |= f.bit
		}
	}
	b[5] = indexOf(packShapes[:], r.Shape)<<5 | indexOf(packStarts[:], r.Start)<<2 | indexOf(packBaths[:], r.Bath)
	add := func(bit byte, there bool, put func([]byte) []byte) {
		if there {
			b[6] |= bit
			b = put(b)
		}
	}
	unsigned := func(x float64) func([]byte) []byte {
		return func(b []byte) []byte { return binary.AppendUvarint(b, uint64(max(1, math.Round(x)))) }
	}
	signed := func(x float64) func([]byte) []byte {
		return func(b []byte) []byte { return binary.AppendVarint(b, int64(math.Round(x))) }
	}
	add(packPieces, r.Pieces > 0, unsigned(float64(r.Pieces)))
	add(packMass, r.Mass > 0, unsigned(r.Mass.Grams()*packGram))
	add(packThickness, r.Thickness > 0, unsigned(r.Thickness.Millimetres()*packMM))
	add(packStartAt, r.Start == cook.StartGiven, signed(float64(r.StartAt)*packKelvin))
	add(packDoneness, r.Doneness != "", func(b []byte) []byte { return binary.BigEndian.AppendUint16(b, donenessNumber(r.Doneness)) })
	add(packSetpoint, r.HasSetpoint, signed(float64(r.Setpoint)*packKelvin))
	add(packSpan, r.Span > 0, unsigned(r.Span.Minutes()))
	return base64.RawURLEncoding.EncodeToString(b)
}

// unpack reads a packed request. It fails with [ErrPacked].
func (p *packer) unpack(s string) (cook.Request, error) {
	var r cook.Request
	if len(s) > PackedMax || strings.ContainsAny(s, "\r\n") { // the decoder skips line ends
		return r, ErrPacked
	}
	b, err := base64.RawURLEncoding.Strict().DecodeString(s)
	if err != nil || len(b) < 7 || b[0] != packVersion {
		return r, ErrPacked
	}
	id, ok := p.foods[uint32(b[1])<<16|uint32(b[2])<<8|uint32(b[3])]
	flags, shape, start, bath, present := b[4], b[5]>>5, b[5]>>2&7, b[5]&3, b[6]
	if !ok || flags >= packFlags || int(shape) >= len(packShapes) || int(start) >= len(packStarts) || int(bath) >= len(packBaths) || present >= packPresent {
		return r, ErrPacked
	}
	r = cook.Request{
		Food: id, Shape: packShapes[shape], Start: packStarts[start], Bath: packBaths[bath],
		MassEach: flags&packMassEach != 0, ThicknessVague: flags&packVague != 0, Pasteurised: flags&packPasteurised != 0,
		AtRisk: flags&packAtRisk != 0, NonIntact: flags&packNonIntact != 0, Cured: flags&packCured != 0,
	}
	u := unpacking{rest: b[7:], present: present}
	r.Pieces = int(u.unsigned(packPieces, packMostPieces))
	r.Mass = quantity.Grams(u.unsigned(packMass, packMostMass) / packGram)
	r.Thickness = quantity.Millimetres(u.unsigned(packThickness, packMostLength) / packMM)
	r.StartAt = quantity.Temperature(u.signed(packStartAt, packMostDegree) / packKelvin)
	if n := u.two(packDoneness); n != 0 || present&packDoneness != 0 {
		if r.Doneness, ok = p.doneness[n]; !ok {
			u.bad = true
		}
	}
	r.HasSetpoint = present&packSetpoint != 0
	r.Setpoint = quantity.Temperature(u.signed(packSetpoint, packMostDegree) / packKelvin)
	r.Span = time.Duration(u.unsigned(packSpan, packMostSpan.Minutes())) * time.Minute
	if u.bad || len(u.rest) > 0 || (r.Start == cook.StartGiven) != (present&packStartAt != 0) {
		return cook.Request{}, ErrPacked
	}
	return r, nil
}

// unpacking reads the optional numbers of a packed request.
type unpacking struct {
	rest    []byte
	present byte
	bad     bool
}

// unsigned reads a number from 1 to most, or gives 0 when it is not there.
func (u *unpacking) unsigned(bit byte, most float64) float64 {
	if u.present&bit == 0 {
		return 0
	}
	v, n := binary.Uvarint(u.rest)
	if n <= 0 || v == 0 || float64(v) > most || n != len(binary.AppendUvarint(nil, v)) {
		u.bad = true
		return 0
	}
	u.rest = u.rest[n:]
	return float64(v)
}

// signed reads a number within ±most, or gives 0 when it is not there.
func (u *unpacking) signed(bit byte, most float64) float64 {
	if u.present&bit == 0 {
		return 0
	}
	v, n := binary.Varint(u.rest)
	if n <= 0 || math.Abs(float64(v)) > most || n != len(binary.AppendVarint(nil, v)) {
		u.bad = true
		return 0
	}
	u.rest = u.rest[n:]
	return float64(v)
}

func (u *unpacking) two(bit byte) uint16 {
	if u.present&bit == 0 {
		return 0
	}
	if len(u.rest) < 2 {
		u.bad = true
		return 0
	}
	v := binary.BigEndian.Uint16(u.rest)
	u.rest = u.rest[2:]
	return v
}
