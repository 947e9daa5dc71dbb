package program

// AppendPlain appends a plain line with one more axis word, num after letter:
// what AppendChanged makes of its block.
//
// It is quickest where dst has MaxPlain bytes of room and the line's bytes some
// behind them that may be read, up to its capacity.
func AppendPlain(dst, line []byte, axis uint8, style PlainStyle, letter byte, num Number) []byte {
	a := int(axis)
	dst = appendShort(dst, line[:a])
	if style&plainTight == 0 {
		dst = append(dst, ' ')
	}
	dst = append(dst, letter|byte(style&plainLower))
	s := spelling{decimals: int(style & plainDecimals)}
	dst = s.append(dst, num)
	return appendShort(dst, line[a:])
}

// MaxPlain is more bytes than a plain line has with a further word.
const MaxPlain = 192

// appendShort is append. Where both have the room, up to sixteen bytes go in one
// piece instead of by a call, which such short texts wait for most of the time.
func appendShort(dst, src []byte) []byte {
	const wide = 16
	n := len(dst)
	if len(src) <= wide && cap(src) >= wide && cap(dst)-n >= wide {
		*(*[wide]byte)(dst[n:cap(dst)]) = *(*[wide]byte)(src[:wide])
		return dst[:n+len(src)]
	}
	return append(dst, src...)
}
