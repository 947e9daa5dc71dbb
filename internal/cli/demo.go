package cli

import "github.com/spf13/cobra"

func (s *session) demoCommand() *cobra.Command   { return &cobra.Command{Use: "demo"} }
func (s *session) verifyCommand() *cobra.Command { return &cobra.Command{Use: "verify"} }
