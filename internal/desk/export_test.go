package desk

// Token is that of the page.
func (d *Desk) Token() string { return d.token }
