package order

// heap has the least of its numbers first.
type heap []int32

func (h *heap) push(x int32) {
	a := append(*h, x)
	i := len(a) - 1
	for i > 0 && a[(i-1)/2] > a[i] {
		a[i], a[(i-1)/2] = a[(i-1)/2], a[i]
		i = (i - 1) / 2
	}
	*h = a
}

func (h *heap) pop() int32 {
	a := *h
	least, n := a[0], len(a)-1
	a[0] = a[n]
	a = a[:n]
	for i := 0; ; {
		k := 2*i + 1
		if k+1 < n && a[k+1] < a[k] {
			k++
		}
		if k >= n || a[i] <= a[k] {
			break
		}
		a[i], a[k] = a[k], a[i]
		i = k
	}
	*h = a
	return least
}
