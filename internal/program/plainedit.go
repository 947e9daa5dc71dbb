package program

// AppendPlain appends a plain line with one more axis word, num after letter:
// what AppendChanged makes of its block.
//
// It is quickest where dst has MaxPlain bytes of room, the line's bytes have
// as many behind them that may be read (up to its capacity), and the number
// has three decimals.
func AppendPlain(dst, line []byte, axis uint8, style PlainStyle, letter byte, num Number) []byte {
	const wide = 16
	a, n := int(axis), len(dst)
	rest := len(line) - a
	if cap(dst)-n >= MaxPlain && cap(line)-a >= wide && cap(line) >= 2*wide && a <= 2*wide && rest <= wide &&
		num.Dec == 3 && num.Mant > -100000 && num.Mant < 100000 && style&plainDecimals <= 3 {
		buf := dst[n:cap(dst)]
		line = line[:cap(line)]
		copy16(buf, line)
		copy16(buf[wide:], line[wide:])
		i := a
		if style&plainTight == 0 {
			buf[i] = ' '
			i++
		}
		buf[i] = letter | byte(style&plainLower)
		i++
		m := num.Mant
		if m < 0 {
			buf[i] = '-'
			i++
			m = -m
		}
		whole := uint32(m) / 1000
		part := &thousandths[uint32(m)%1000]
		if whole >= 10 {
			buf[i] = byte('0' + whole/10)
			i++
			whole %= 10
		}
		buf[i], buf[i+1], buf[i+2], buf[i+3], buf[i+4] = byte('0'+whole), '.', part.digits[0], part.digits[1], part.digits[2]
		i++
		if k := int(max(part.most, uint8(style&plainDecimals))); k > 0 {
			i += 1 + k
		}
		copy16(buf[i:], line[a:])
		return dst[:n+i+rest]
	}
	dst = append(dst, line[:a]...)
	if style&plainTight == 0 {
		dst = append(dst, ' ')
	}
	dst = append(dst, letter|byte(style&plainLower))
	s := spelling{decimals: int(style & plainDecimals)}
	dst = s.append(dst, num)
	return append(dst, line[a:]...)
}

// MaxPlain is more bytes than a plain line has with a further word.
const MaxPlain = 192

// copy16 copies sixteen bytes, in one piece.
func copy16(dst, src []byte) { *(*[16]byte)(dst) = *(*[16]byte)(src) }

// thousandths holds three decimals as digits, and how many there are without
// the zeros at their end.
var thousandths = func() (t [1000]struct {
	digits [3]byte
	most   uint8
}) {
	for k := range t {
		t[k].digits = [3]byte{byte('0' + k/100), byte('0' + k/10%10), byte('0' + k%10)}
		switch {
		case k%10 != 0:
			t[k].most = 3
		case k%100 != 0:
			t[k].most = 2
		case k != 0:
			t[k].most = 1
		}
	}
	return t
}()
