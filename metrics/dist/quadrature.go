package dist

import "math"

// GaussLegendre gives the n nodes and weights of Gauss-Legendre quadrature on
// [-1, 1], which integrates polynomials up to degree 2n-1 exactly; nil for n < 1.
// The nodes are the roots of the Legendre polynomial, found by Newton's method.
// Source: Abramowitz & Stegun 25.4.29 (from memory).
func GaussLegendre(n int) (nodes, weights []float64) {
	if n < 1 {
		return nil, nil
	}
	nodes, weights = make([]float64, n), make([]float64, n)
	for i := range n {
		x := math.Cos(math.Pi * (float64(i) + 0.75) / (float64(n) + 0.5))
		var derivative float64
		for range 100 {
			p0, p1 := 1.0, x
			for k := 2; k <= n; k++ {
				p0, p1 = p1, (float64(2*k-1)*x*p1-float64(k-1)*p0)/float64(k)
			}
			derivative = float64(n) * (x*p1 - p0) / (x*x - 1)
			step := p1 / derivative
			x -= step
			if math.Abs(step) < 1e-16 {
				break
			}
		}
		nodes[i], weights[i] = x, 2/((1-x*x)*derivative*derivative)
	}
	return nodes, weights
}
